#include "analysis/report/text/field_words.hpp"

#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <cmath>
#include <set>

namespace dropledger::report::field {

using namespace dropledger::field;

namespace {

std::string field_line(const FieldAudit& audit, const FieldPart& part) {
    return fmt::format("Field {}{}: round {}; passes {} to {}, {} drops.", part.number,
                       part.name.empty() ? "" : fmt::format(" ({})", part.name),
                       place_words(audit, part.middle()), audit.field.pass_name(part.first_pass),
                       audit.field.pass_name(part.last_pass), grouped(part.drops));
}

std::string machine_line(const FieldAudit& audit) {
    std::set<std::int64_t> passes;
    for (const LineReport& line : audit.lines)
        passes.insert(line.key.pass);
    std::string text = fmt::format("{}, {} pass{}", counted(audit.rows.size(), "row"),
                                   grouped(static_cast<std::int64_t>(passes.size())),
                                   passes.size() == 1 ? "" : "es");
    if (audit.ground.spacing_m)
        text += fmt::format("; drops lie {:.3f} m apart", *audit.ground.spacing_m);
    if (audit.ground.speed_mps)
        text += fmt::format("; {:.2f} m/s", *audit.ground.speed_mps);
    return text + ".";
}

void add_count(std::vector<std::string>& sentences, std::int64_t count, std::string_view words) {
    if (count > 0)
        sentences.push_back(fmt::format("{} {}", grouped(count), words));
}

void add_table(const FieldAudit& audit, std::vector<std::string>& sentences) {
    const Facts& facts = audit.field.facts;
    if (facts.rows > 0)
        sentences.push_back(fmt::format(
            "{} of {} lines of the table were kept out ({:.2f} %){}.",
            grouped(audit.field.rows_bad), grouped(facts.rows),
            100.0 * static_cast<double>(audit.field.rows_bad) / static_cast<double>(facts.rows),
            audit.field.bad_samples.empty()
                ? ""
                : fmt::format(", the first in line {}: {}", audit.field.bad_samples.front().line,
                              audit.field.bad_samples.front().reason)));
    const std::int64_t lost = audit.field.lost_drops(); // said before
    add_count(sentences, facts.unknown_drops - facts.filled_drops - lost,
              "drop numbers were passed over where the machine did not drive on by so much: "
              "whether a drop lacks there is not known.");
    add_count(sentences, facts.filled_drops,
              "drop numbers lacked and count as silent, as you said.");
    add_count(sentences, facts.target_none,
              "lines command no seed (target 0, as in tramlines): they are left out.");
    add_count(sentences, facts.places_kept_out,
              "places were 0,0, blank, or where no machine can have driven: those drops were put "
              "between their neighbours.");
    add_count(sentences, facts.duplicates, "rows gave a drop once more: the first one stands.");
    if (facts.stretches_split > 0)
        sentences.push_back(
            fmt::format("Pass numbers began anew: {} passes were told apart by time and place.",
                        grouped(facts.stretches_split)));
    add_count(sentences, facts.times_doubtful,
              "times lie in the hour that clocks show twice, or leave out, that night.");
    if (facts.dates_ambiguous && facts.dates_show != DateOrder::month_first)
        sentences.emplace_back("Dates were read with the day first.");
    if (!facts.encoding.empty() && facts.encoding != "UTF-8")
        sentences.push_back(fmt::format("The table was written in {}.", facts.encoding));
}

} // namespace

std::vector<std::string> opening(const FieldAudit& audit) {
    constexpr std::size_t most = 12;
    std::vector<std::string> sentences;
    for (std::size_t i = 0; i < std::min(most, audit.parts.size()); ++i)
        sentences.push_back(field_line(audit, audit.parts[i]));
    if (audit.parts.size() > most)
        sentences.push_back(fmt::format(
            "And {} more fields.", grouped(static_cast<std::int64_t>(audit.parts.size() - most))));
    sentences.push_back(machine_line(audit));
    add_table(audit, sentences);
    return sentences;
}

std::string place_words(const FieldAudit& audit, const Place& place) {
    const Place at = wrapped(place, audit.field.geographic);
    if (!audit.field.geographic)
        return fmt::format("east {} m, north {} m", grouped(at.x, 0), grouped(at.y, 0));
    return fmt::format("{:.4f} {}, {:.4f} {}", std::abs(at.y), at.y < 0.0 ? "S" : "N",
                       std::abs(at.x), at.x < 0.0 ? "W" : "E");
}

} // namespace dropledger::report::field
