#include "bench/recorder/protocol/lines/controller_text.hpp"

#include "analysis/base/text.hpp"
#include "analysis/droplog/line.hpp"
#include "analysis/droplog/reasons.hpp"

#include <utility>

namespace dropledger::recorder {

std::string field(std::string_view line, std::size_t index) {
    const auto body = droplog::checked_body(line);
    if (!body)
        return {};
    const auto fields = droplog::fields_of(*body);
    return index < fields.size() ? percent_decode(fields[index]).value_or("") : std::string{};
}

std::string halt_reason(std::string_view halted_line) {
    const std::string reason = field(halted_line, detail_field);
    return reason.empty() ? "halted" : reason;
}

Error controller_trouble(std::string what, std::string remedy) {
    return device_error("controller", std::move(what), std::move(remedy));
}

bool leaves_drops(std::string_view reason, int starts) {
    const auto why = droplog::halt_reason_of(reason);
    return why == droplog::HaltReason::host || why == droplog::HaltReason::host_silent ||
           (droplog::made_its_count(reason) && starts > 1);
}

} // namespace dropledger::recorder
