#include "bench/recorder/protocol/lines/known_bench.hpp"

#include "bench/recorder/protocol/lines/controller_text.hpp"

#include <fmt/format.h>

#include <utility>

namespace dropledger::recorder {

void KnownBench::keep(std::string_view hello) {
    protocol_ = field(hello, protocol_field);
    channels_ = field(hello, channels_field);
    firmware_ = field(hello, firmware_field);
    const std::string before = std::exchange(boot_, field(hello, boot_field));
    if (!before.empty() && before != boot_)
        former_boots_.insert(before);
}

std::optional<std::string> KnownBench::difference(std::string_view hello) const {
    if (!protocol_)
        return std::nullopt;
    const std::string firmware = field(hello, firmware_field);
    const std::string channels = field(hello, channels_field);
    const std::string protocol = field(hello, protocol_field);
    if (firmware != firmware_)
        return fmt::format("it calls itself `{}`, the log's bench `{}`", firmware, firmware_);
    if (channels != channels_)
        return fmt::format("it has {} channels, the log's bench {}", channels, channels_);
    if (protocol != *protocol_)
        return fmt::format("it speaks protocol {}, the log's bench {}", protocol, *protocol_);
    if (former_boots_.contains(field(hello, boot_field)))
        return fmt::format("it is still in boot {}, which was over in this log",
                           field(hello, boot_field));
    return std::nullopt;
}

} // namespace dropledger::recorder
