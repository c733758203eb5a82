#include "analysis/report/text/field_words.hpp"

#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report::field {

using namespace dropledger::field;
using causes::CauseKind;

namespace {

std::string rows_words(const FieldAudit& audit, const FieldCause& cause) {
    std::string text = audit.field.row_name(cause.row);
    for (const std::int64_t other : cause.rows_alike)
        text += ", " + audit.field.row_name(other);
    return (cause.rows_alike.empty() ? "row " : "rows ") + text;
}

std::string_view bridging_or_plug(const FieldCause& cause) {
    const auto could_be = [&](CauseKind kind) {
        return cause.kind == kind || std::find(cause.could_be.begin(), cause.could_be.end(),
                                               kind) != cause.could_be.end();
    };
    if (!could_be(CauseKind::cable))
        return "seed bridges";
    return could_be(CauseKind::bridging) ? "a plug is loose or seed bridges, dig at one gap"
                                         : "check the sensors' plug and cable, dig at one gap";
}

// What to do about it, or what happened; short.
std::string action(const FieldAudit& audit, const FieldCause& cause) {
    const std::string rows = rows_words(audit, cause);
    switch (cause.kind) {
    case CauseKind::empty_container:
        return fmt::format("{}: the container ran empty", rows);
    case CauseKind::blocked_tube:
        return fmt::format("{}: free tube and opener", rows);
    case CauseKind::valve_closed:
        return fmt::format("{}: look at the valve", rows);
    case CauseKind::bridging:
    case CauseKind::cable:
        return fmt::format("{}: {}", rows, bridging_or_plug(cause));
    case CauseKind::bad_cell:
        return fmt::format("{}: a cell of the metering disc is bad", rows);
    case CauseKind::start_loss:
        return fmt::format("{}: starts late", rows);
    case CauseKind::double_feeding:
        return fmt::format("{}: feeds doubles", rows);
    case CauseKind::speed_dependence:
        return fmt::format("{}: drive slower", rows);
    case CauseKind::meter:
        return fmt::format("{}: the meter leaves seeds out", rows);
    case CauseKind::gate_going_blind:
    case CauseKind::sensor:
        return fmt::format("clean the sensor of {}", rows);
    case CauseKind::meter_or_sensor:
        return fmt::format("clean the sensor of {} and dig there", rows);
    case CauseKind::valve_drift:
    case CauseKind::valve_lag:
        break;
    }
    return fmt::format("{}: {}", rows, words_of(cause.kind));
}

std::string reseeding(const FieldAudit& audit) {
    const Reseed& reseed = audit.reseed;
    if (reseed.gaps == 0)
        return {};
    return fmt::format(
        "re-seed {}, {} m, {} min", counted(static_cast<std::uint64_t>(reseed.gaps), "place"),
        grouped(reseed.length_m, 0), grouped(std::max(1LL, std::llround(reseed.minutes))));
}

std::string digging(const FieldAudit& audit) {
    if (!audit.dig)
        return {};
    const Gap& gap = audit.gaps[audit.dig->gap];
    return fmt::format("dig first in row {}, pass {}", audit.field.row_name(gap.key.row),
                       audit.field.pass_name(gap.key.pass));
}

// Rows that fell silent together are named once.
std::vector<const FieldCause*> causes_once(const FieldAudit& audit) {
    std::vector<const FieldCause*> once;
    for (const FieldCause& cause : audit.causes)
        if (std::none_of(once.begin(), once.end(), [&](const FieldCause* one) {
                return one->kind == cause.kind &&
                       std::find(one->rows_alike.begin(), one->rows_alike.end(), cause.row) !=
                           one->rows_alike.end();
            }))
            once.push_back(&cause);
    return once;
}

std::string nothing_to_do(const FieldAudit& audit) {
    if (!audit.lacking.empty())
        return "Nothing is known to need doing, but not all drops are there to tell by";
    if (audit.reseed.undecided_gaps == 0 && audit.alerts_judged(Judgement::unknown) == 0)
        return fmt::format("Nothing needs doing: no gap of {} m or more, no cause found",
                           audit.options.reseed_min_m);
    return "Nothing is known to need doing, but some alerts can't be told";
}

} // namespace

std::string headline(const FieldAudit& audit) {
    constexpr std::size_t most = 2;
    std::vector<std::string> parts;
    if (const std::string text = reseeding(audit); !text.empty())
        parts.push_back(text);
    const auto once = causes_once(audit);
    bool digs = false;
    for (std::size_t i = 0; i < std::min(most, once.size()); ++i) {
        parts.push_back(action(audit, *once[i]));
        digs |= parts.back().find("dig") != std::string::npos;
    }
    if (once.size() > most)
        parts.push_back(fmt::format("{} more below", once.size() - most));
    if (const std::string text = digging(audit); !text.empty() && !digs)
        parts.push_back(text);
    if (parts.empty())
        parts.push_back(nothing_to_do(audit));
    std::string text = fmt::format("{}.", fmt::join(parts, "; "));
    text.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(text.front())));
    return text;
}

std::string alerts_line(const FieldAudit& audit) {
    if (audit.alerts.empty())
        return audit.field.has_alerts ? "The machine raised no alert."
                                      : "The table holds no alerts.";
    std::vector<std::string> parts;
    const auto add = [&](Judgement judgement, const char* words) {
        if (const auto count = audit.alerts_judged(judgement); count > 0)
            parts.push_back(fmt::format("{} {}", words, grouped(count)));
    };
    add(Judgement::missing, "seed is missing at");
    add(Judgement::sensor, "only the sensor missed it at");
    add(Judgement::unknown, "it can't be told of");
    return fmt::format("Of {}: {}.", counted(audit.alerts.size(), "alert"), fmt::join(parts, ", "));
}

} // namespace dropledger::report::field
