#include "bench/commands/inputs/integrity_page.hpp"

#include "analysis/base/shown_text.hpp"
#include "analysis/droplog/soundness.hpp"
#include "analysis/report/json/integrity_json.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <nlohmann/json.hpp>

#include <vector>

namespace dropledger::cli {

namespace {

using droplog::Integrity;

std::string counted(std::uint64_t count, const char* one, const char* many) {
    return fmt::format("{} {}", count, count == 1 ? one : many);
}

std::string places(const std::vector<std::uint64_t>& lines, std::uint64_t all) {
    return fmt::format("line{} {}{}", all == 1 ? "" : "s", fmt::join(lines, ", "),
                       all > lines.size() ? " and more" : "");
}

std::string lines_text(const droplog::LineTally& lines) {
    return fmt::format(
        "{}: {} used, {} unknown, {} damaged, {} repeated, {} conflicting, {} out of order",
        lines.total(), lines.used, lines.unknown, lines.damaged, lines.repeated, lines.conflicting,
        lines.out_of_order);
}

std::string sequence_text(const Integrity& found) {
    std::string text =
        found.sequence_gaps == 0
            ? std::string{"no gap"}
            : fmt::format("{} in {}", counted(found.missing_lines, "line missing", "lines missing"),
                          counted(found.sequence_gaps, "gap", "gaps"));
    text += found.lost == 0 ? ", none lost by the controller"
                            : fmt::format(", {} lost by the controller", found.lost);
    return text + fmt::format("; {}, resumed {}", counted(found.boots, "boot", "boots"),
                              counted(found.resumed, "time", "times"));
}

std::string seals_text(const droplog::SealTally& seals) {
    std::string text = seals.count == 0 ? std::string{"none: a later change would not show"}
                                        : fmt::format("{}, all hold", seals.count);
    if (!seals.intact && seals.first_bad_line)
        text = fmt::format("{}; broken at line {}, whose seal covers the lines from {} on",
                           seals.count, *seals.first_bad_line, seals.first_bad_block_start);
    if (seals.unsealed_lines > 0)
        text +=
            fmt::format("; {} after the last seal", counted(seals.unsealed_lines, "line", "lines"));
    return text;
}

std::string signature_text(const Integrity& found) {
    if (found.bad_signature)
        return fmt::format("does not fit the last seal (public key {})", found.public_key);
    return found.is_signed ? fmt::format("holds (public key {})", found.public_key)
                           : std::string{"none"};
}

std::string end_text(const Integrity& found) {
    std::string text = found.close_reason ? fmt::format("closed: {}", *found.close_reason)
                                          : std::string{"not closed"};
    if (found.close_reason && !found.reason_covered)
        text += "; no seal covers this reason, so a change of it would not show";
    return text + (found.torn_tail ? "; the last line has no end and was left out" : "");
}

nlohmann::ordered_json flaws_json(const Integrity& found) {
    auto all = nlohmann::ordered_json::array();
    for (const droplog::FoundFlaw& flaw : found.flaws())
        all.push_back({{"flaw", droplog::row_of(flaw.flaw).key},
                       {"count", flaw.count},
                       {"line", flaw.line == 0 ? nlohmann::ordered_json(nullptr)
                                               : nlohmann::ordered_json(flaw.line)}});
    return all;
}

class Page {
public:
    void row(const char* name, const std::string& text) {
        text_ += fmt::format("  {:<10} {}\n", name, shown_text(text));
    }
    void row_if(std::uint64_t count, const char* name, const std::string& text) {
        if (count > 0)
            row(name, text);
    }
    std::string text_;
};

} // namespace

std::string integrity_page(const std::string& file, const droplog::Reading& reading) {
    const Integrity& found = reading.integrity;
    Page page;
    page.text_ = fmt::format("{}: {}\n", shown_text(file), droplog::soundness_words(found));
    page.row("run", found.has_header ? fmt::format("{}, started {}", reading.header.run_id,
                                                   reading.header.started)
                                     : std::string{"unknown: no @droplog line"});
    page.row("lines", lines_text(found.lines));
    page.row_if(found.lines.damaged, "",
                "damaged: " + places(found.damaged_at, found.lines.damaged));
    page.row_if(found.lines.conflicting, "",
                "in conflict: " + places(found.conflict_at, found.lines.conflicting));
    page.row_if(found.late, "",
                counted(found.late, "line", "lines") + " used though over 50 ms late");
    page.row_if(found.extra_fields, "",
                counted(found.extra_fields, "line", "lines") + " with more fields than known");
    page.row_if(found.late_settings, "",
                counted(found.late_settings, "setting", "settings") +
                    " after the run had begun, not taken in");
    page.row("sequence", sequence_text(found));
    page.row("seals", seals_text(found.seals));
    page.row("signature", signature_text(found));
    page.row("end", end_text(found));
    return page.text_;
}

nlohmann::ordered_json integrity_page_json(const std::string& file,
                                           const droplog::Reading& reading) {
    using Json = nlohmann::ordered_json;
    const Integrity& found = reading.integrity;
    Json json{{"schema", "dropledger/check/1"},
              {"file", file},
              {"run", found.has_header ? Json(reading.header.run_id) : Json(nullptr)}};
    json.update(report::integrity_json(found));
    json["seals"]["first_bad_block_start"] =
        found.seals.first_bad_line ? Json(found.seals.first_bad_block_start) : Json(nullptr);
    json["seals"]["unsealed_lines"] = found.seals.unsealed_lines;
    json["sound"] = droplog::is_sound(found);
    json["faults"] = droplog::faults(found);
    json["flaws"] = flaws_json(found);
    json["missing_lines"] = found.missing_lines;
    json["boots"] = found.boots;
    json["resumed"] = found.resumed;
    json["late"] = found.late;
    json["extra_fields"] = found.extra_fields;
    json["late_settings"] = found.late_settings;
    json["damaged_at"] = found.damaged_at;
    json["conflicting_at"] = found.conflict_at;
    json["close_reason"] = found.close_reason ? Json(*found.close_reason) : Json(nullptr);
    json["reason_covered"] = found.reason_covered;
    json["bad_signature"] = found.bad_signature;
    json["public_key"] = found.public_key.empty() ? Json(nullptr) : Json(found.public_key);
    return json;
}

} // namespace dropledger::cli
