#include "bench/capture/formats/timescale.hpp"

#include "analysis/base/text.hpp"
#include "bench/capture/formats/change.hpp"

#include <array>
#include <utility>

namespace dropledger::capture {

std::optional<Timescale> Timescale::of(std::string_view text) {
    constexpr std::array<std::pair<std::string_view, std::uint64_t>, 6> units{{
        {"s", 1'000'000'000'000'000},
        {"ms", 1'000'000'000'000},
        {"us", 1'000'000'000},
        {"ns", 1'000'000},
        {"ps", 1'000},
        {"fs", 1},
    }};
    const std::size_t digits = std::min(text.find_first_not_of("0123456789"), text.size());
    const auto count = parse_uint(text.substr(0, digits));
    const std::string_view unit = trim(text.substr(digits));
    if (count != 1U && count != 10U && count != 100U)
        return std::nullopt;
    for (const auto& [name, fs] : units) {
        if (unit != name)
            continue;
        const std::uint64_t whole_fs = *count * fs;
        Timescale scale;
        scale.ps_ = whole_fs >= 1000 ? whole_fs / 1000 : 1;
        scale.counts_ = whole_fs >= 1000 ? 1 : 1000 / whole_fs;
        return scale;
    }
    return std::nullopt;
}

std::optional<std::int64_t> Timescale::ps_of(std::uint64_t count) const {
    const std::uint64_t counts = count / counts_;
    if (counts > static_cast<std::uint64_t>(longest_ps) / ps_)
        return std::nullopt;
    return static_cast<std::int64_t>(counts * ps_);
}

} // namespace dropledger::capture
