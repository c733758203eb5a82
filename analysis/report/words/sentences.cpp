#include "analysis/report/words/sentences.hpp"

#include "analysis/base/text.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

namespace dropledger::report {

namespace {

using verdict::Outcome;

std::vector<std::string> names_with(const verdict::Judgement& judgement, Outcome outcome) {
    std::vector<std::string> names;
    for (const verdict::Criterion& criterion : judgement.criteria)
        if (criterion.outcome == outcome)
            names.emplace_back(words_of(criterion.limit.quantity));
    return names;
}

std::string listed(const std::vector<std::string>& names) {
    if (names.size() < 2)
        return names.empty() ? "" : names.front();
    const std::vector<std::string> head(names.begin(), names.end() - 1);
    return fmt::format("{} and {}", fmt::join(head, ", "), names.back());
}

std::string reason_of(const verdict::Judgement& judgement) {
    return judgement.reason.empty() ? "" : " " + capitalised(judgement.reason) + ".";
}

std::string undecided_sentence(const audit::ChannelReport& channel, const std::string& who) {
    const auto open = names_with(channel.judgement, Outcome::undecided);
    if (open.empty())
        return fmt::format("{}: not decided.{}", who, reason_of(channel.judgement));
    return fmt::format("{}: not decided on {}.{}", who, listed(open), reason_of(channel.judgement));
}

// " Outside: A, B." where there are such units.
std::string named(const audit::AuditReport& report, Outcome outcome) {
    std::vector<std::string> units;
    for (const audit::ChannelReport& channel : report.channels)
        if (channel.judgement.outcome == outcome)
            units.push_back(channel.unit.empty() ? fmt::format("channel {}", channel.channel)
                                                 : channel.unit);
    if (units.empty() || units.size() == report.channels.size())
        return "";
    return fmt::format(" {}: {}.", outcome == Outcome::outside ? "Outside" : "Undecided",
                       listed(units));
}

std::string speed_text(const ledger::RunSetup& setup) {
    if (!setup.speed_um_s)
        return "";
    return fmt::format(", {:.3g} m/s", static_cast<double>(*setup.speed_um_s) / 1e6);
}

std::string mode_text(const audit::AuditReport& report) {
    const ledger::RunSetup& setup = report.setup;
    std::string text(setup.mode == ledger::Mode::single    ? "single seeds"
                     : setup.mode == ledger::Mode::portion ? "portions"
                                                           : "line");
    if (setup.mode == ledger::Mode::portion && setup.count)
        text += fmt::format(" of {} seeds", *setup.count);
    if (setup.spacing_um && setup.mode != ledger::Mode::line)
        text += ", every " + length_words(*setup.spacing_um);
    if (setup.rate_per_m_milli && setup.mode == ledger::Mode::line)
        text += fmt::format(", target {:g} seeds per metre",
                            static_cast<double>(*setup.rate_per_m_milli) / 1000.0);
    return text + speed_text(setup);
}

std::string profile_text(const verdict::Profile& profile) {
    if (profile.limits.empty())
        return profile.name.empty() ? "none: nothing is judged" : profile.name + " (no limits)";
    std::string text = profile.name;
    if (!profile.title.empty())
        text += " (" + profile.title + ")";
    return text + ", " + percent_words(profile.confidence.level()) + " confidence";
}

void add_setting(std::vector<ContextRow>& rows, const audit::AuditReport& report, const char* key,
                 const char* label) {
    if (const std::string* const text = report.header.find(key))
        rows.push_back({label, *text});
}

std::string mass_words(const std::string& milligrams) {
    const auto value = parse_uint(milligrams);
    return value ? fmt::format("{:g} g", static_cast<double>(*value) / 1000.0) : milligrams + " mg";
}

void add_crop_rows(std::vector<ContextRow>& rows, const audit::AuditReport& report) {
    add_setting(rows, report, "bench", "bench");
    add_setting(rows, report, "operator", "operator");
    add_setting(rows, report, "crop", "crop");
    add_setting(rows, report, "seed_lot", "seed lot");
    if (const std::string* const mass = report.header.find("thousand_seed_mass_mg"))
        rows.push_back({"thousand-seed mass", mass_words(*mass)});
}

std::string travelled_text(const ledger::TravelExtent& travelled) {
    return fmt::format("{:.1f} m in {:.1f} minutes",
                       static_cast<double>(travelled.distance_um) / 1e6,
                       static_cast<double>(travelled.duration_us) / 6e7);
}

void add_line_findings(std::vector<std::string>& found, const droplog::Integrity& integrity) {
    const droplog::LineTally& lines = integrity.lines;
    const std::pair<std::uint64_t, const char*> kinds[] = {
        {lines.damaged, "damaged (checksum, length or fields wrong)"},
        {lines.conflicting, "conflicting (same boot and sequence number, other bytes)"},
        {lines.repeated, "repeated, identical; counted once"},
        {lines.out_of_order, "out of order and left out"},
        {lines.unknown, "of a name that this version does not know"},
        {integrity.late, "used although over 50 ms late"},
        {integrity.extra_fields, "with more fields than this version knows"},
    };
    for (const auto& [count, what] : kinds)
        if (count > 0)
            found.push_back(counted(count, "line") + " " + what + ".");
    if (!integrity.damaged_at.empty())
        found.push_back(fmt::format("Damaged at line {}{}.", fmt::join(integrity.damaged_at, ", "),
                                    lines.damaged > integrity.damaged_at.size() ? " ..." : ""));
    if (!integrity.conflict_at.empty())
        found.push_back(
            fmt::format("In conflict at line {}.", fmt::join(integrity.conflict_at, ", ")));
}

void add_gap_findings(std::vector<std::string>& found, const droplog::Integrity& integrity) {
    if (integrity.sequence_gaps > 0)
        found.push_back(fmt::format("Missing: {} in {} of the sequence.",
                                    counted(integrity.missing_lines, "line"),
                                    counted(integrity.sequence_gaps, "gap")));
    if (integrity.lost > 0)
        found.push_back(
            fmt::format("The controller threw away {} (LOST).", counted(integrity.lost, "line")));
    if (integrity.boots > 1)
        found.push_back(fmt::format("The controller booted {}.", counted(integrity.boots, "time")));
    if (integrity.resumed > 0)
        found.push_back(
            fmt::format("The recording was resumed {}.", counted(integrity.resumed, "time")));
    if (integrity.torn_tail)
        found.emplace_back("The last line is torn: the file was cut while it was written.");
    if (!integrity.close_reason)
        found.emplace_back("The log was not closed: the run did not end in order.");
}

std::string seal_sentence(const droplog::Integrity& integrity) {
    const droplog::SealTally& seals = integrity.seals;
    if (seals.count == 0)
        return "The log carries no seals: later changes would not show.";
    if (!seals.intact)
        return fmt::format("The seal at line {} does not hold: lines from {} on were changed.",
                           seals.first_bad_line.value(), seals.first_bad_block_start);
    std::string text =
        seals.count == 1
            ? std::string("The one seal holds.")
            : fmt::format("All {} seals hold.", grouped(static_cast<std::int64_t>(seals.count)));
    if (seals.unsealed_lines > 0)
        text += " Not sealed: the last " + counted(seals.unsealed_lines, "line") + ".";
    return text;
}

std::string signature_sentence(const droplog::Integrity& integrity) {
    if (integrity.bad_signature)
        return "The signature does not fit the log.";
    if (!integrity.is_signed)
        return "The log is not signed.";
    return fmt::format("Signed; the signature holds (public key {}).", integrity.public_key);
}

} // namespace

std::string capitalised(std::string text) {
    if (!text.empty() && text.front() >= 'a' && text.front() <= 'z')
        text.front() = static_cast<char>(text.front() - 'a' + 'A');
    return text;
}

std::string channel_words(const audit::ChannelReport& channel) {
    if (std::holds_alternative<measures::SpacingResult>(channel.results))
        return "the list of spacings";
    std::string text =
        channel.unit.empty() ? fmt::format("channel {}", channel.channel) : "unit " + channel.unit;
    if (channel.row)
        text += fmt::format(", row {}", *channel.row);
    return text;
}

std::string gate_words(const audit::AuditReport& report, const audit::ChannelReport& channel) {
    if (report.from_spacings)
        return "none: spacings as listed";
    std::string text = channel.gate == 1   ? "gate 1 (the bench's reference)"
                       : channel.gate == 0 ? "gate 0 (the unit's own sensor)"
                                           : fmt::format("gate {}", channel.gate);
    if (channel.gate_only_counts)
        text += ", above the valve: it counts, it does not place";
    return text;
}

std::string_view kind_words(measures::EntryKind kind) {
    switch (kind) {
    case measures::EntryKind::miss:
        return "miss";
    case measures::EntryKind::single:
        return "single";
    case measures::EntryKind::multiple:
        return "multiple";
    case measures::EntryKind::empty:
        return "empty";
    case measures::EntryKind::shorted:
        return "short";
    case measures::EntryKind::exact:
        return "exact";
    case measures::EntryKind::over:
        return "over";
    }
    throw BrokenInvariant("an entry kind without a word");
}

std::string_view outcome_words(Outcome outcome) {
    switch (outcome) {
    case Outcome::within:
        return "Within tolerance";
    case Outcome::outside:
        return "Outside tolerance";
    case Outcome::undecided:
        return "Undecided";
    }
    throw BrokenInvariant("an outcome without words");
}

std::string verdict_sentence(const audit::AuditReport& report,
                             const audit::ChannelReport& channel) {
    const std::string who = capitalised(channel_words(channel));
    if (report.profile.limits.empty())
        return fmt::format("{}: no tolerance profile with limits was given, so nothing is judged.",
                           who);
    const verdict::Judgement& judgement = channel.judgement;
    switch (judgement.outcome) {
    case Outcome::within:
        return fmt::format("{} keeps every limit of the profile.", who);
    case Outcome::outside:
        return fmt::format("{} is beyond its limit on {}.{}", who,
                           listed(names_with(judgement, Outcome::outside)), reason_of(judgement));
    case Outcome::undecided:
        return undecided_sentence(channel, who);
    }
    throw BrokenInvariant("an outcome without a sentence");
}

namespace {

// What contradicts the evidence comes before what the evidence says.
std::string contradictions_first(const audit::AuditReport& report) {
    std::string text;
    for (const audit::Contradicted& found : report.contradictions)
        text += fmt::format("{}: {}. ", capitalised(found.what), found.remedy);
    return text;
}

} // namespace

std::string verdict_sentence(const audit::AuditReport& report) {
    if (report.channels.size() == 1)
        return contradictions_first(report) + verdict_sentence(report, report.channels.front());
    const auto count = [&](Outcome outcome) {
        return std::count_if(report.channels.begin(), report.channels.end(),
                             [&](const audit::ChannelReport& channel) {
                                 return channel.judgement.outcome == outcome;
                             });
    };
    const std::string sentence =
        fmt::format("Of {} units, {} within, {} outside, {} undecided.", report.channels.size(),
                    count(Outcome::within), count(Outcome::outside), count(Outcome::undecided));
    return contradictions_first(report) + sentence + named(report, Outcome::outside) +
           named(report, Outcome::undecided);
}

std::vector<std::string> identities(ledger::Mode mode, const measures::LedgerTable& t) {
    const std::string drops =
        mode == ledger::Mode::portion
            ? fmt::format("drops {} = empty {} + short {} + exact {} + over {}", grouped(t.drops),
                          grouped(t.empty), grouped(t.shorted), grouped(t.exact), grouped(t.over))
            : fmt::format("drops {} = single {} + multiple {} + miss {}", grouped(t.drops),
                          grouped(t.single), grouped(t.multiple), grouped(t.miss));
    return {drops, fmt::format("seeds {} = in entries {} + strays {}", grouped(t.seeds),
                               grouped(t.entered), grouped(t.strays))};
}

std::string long_gap_words(const audit::ChannelReport& channel) {
    const audit::SingleDrops* const single = channel.single();
    if (single == nullptr || !single->spacing || single->spacing->counts.classes[4] == 0)
        return "";
    const measures::LedgerTable& table = single->drops.table;
    return fmt::format(
        "The miss index counts a spacing over 3.5 times the theoretical one as 3 misses "
        "however long it is (here {}); the ledger counts every commanded drop: {} of {}.",
        counted(static_cast<std::uint64_t>(single->spacing->counts.classes[4]), "spacing"),
        counted(static_cast<std::uint64_t>(table.miss), "missed drop"), grouped(table.drops));
}

std::string dispersion_words(const measures::LineResult& line) {
    if (!line.dispersion)
        return "The index of dispersion is not defined: fewer than two whole segments, or no seed.";
    const statistics::Dispersion& d = *line.dispersion;
    const std::string test =
        fmt::format("(index {:.2f}, chi-squared {:.1f} on {:.0f} degrees of freedom, ", d.index,
                    d.chi_squared, d.degrees);
    if (d.p_even < 0.025)
        return fmt::format("The line is more even than seeds strewn at random {}p {}).", test,
                           p_words(d.p_even));
    if (d.p_clustered < 0.025)
        return fmt::format("The seeds come in clusters: less even than a random line {}p {}).",
                           test, p_words(d.p_clustered));
    return fmt::format("The line cannot be told from seeds strewn at random {}p {}).", test,
                       p_words(std::min(d.p_clustered, d.p_even)));
}

std::string transverse_words(const measures::Transverse& transverse) {
    return fmt::format("The {} units gave {:.1f} seeds each on average; their totals vary by a "
                       "coefficient of variation of {:.2f} %. Each unit's total and its deviation "
                       "from the mean:",
                       transverse.channels.size(), transverse.mean_seeds, 100.0 * transverse.cv);
}

std::string deviation_words(const measures::ChannelDeviation& channel) {
    return fmt::format("{:+.2f} %", 100.0 * channel.deviation);
}

std::string longest_gap_words(const measures::LineResult& line) {
    return "Longest gap: " + with_unit(mm_of(line.longest_gap_um), Unit::millimetres, 1) + ".";
}

std::string started_words(const audit::AuditReport& report) {
    return report.started_here.empty() ? report.started : report.started_here;
}

std::vector<ContextRow> context_rows(const audit::AuditReport& report) {
    std::vector<ContextRow> rows{{"file", report.file}};
    if (!report.from_spacings) {
        rows.push_back({"run", report.run_id.empty() ? "not named" : report.run_id});
        if (!report.started.empty())
            rows.push_back({"started", started_words(report)});
        add_crop_rows(rows, report);
        rows.push_back({"travelled", travelled_text(report.travelled)});
    }
    rows.push_back({"mode", mode_text(report)});
    rows.push_back({"profile", profile_text(report.profile)});
    rows.push_back({"calibration", report.calibration.value_or("none")});
    return rows;
}

std::vector<std::string> integrity_sentences(const audit::AuditReport& report) {
    if (report.from_spacings)
        return {"A plain list of spacings: there is no log whose integrity could be checked."};
    const droplog::Integrity& integrity = report.integrity;
    std::vector<std::string> found;
    found.push_back(
        fmt::format("{} lines read, {} used; the run is {}.",
                    grouped(static_cast<std::int64_t>(integrity.lines.total())),
                    grouped(static_cast<std::int64_t>(integrity.lines.used)),
                    integrity.complete() ? "complete" : "not complete, so it can never be within"));
    add_line_findings(found, integrity);
    add_gap_findings(found, integrity);
    found.push_back(seal_sentence(integrity));
    found.push_back(signature_sentence(integrity));
    if (!report.halted_reason.empty())
        found.push_back(fmt::format("The run halted: {}.", report.halted_reason));
    return found;
}

std::vector<std::string> cautions() {
    return {"Before a hand goes near a unit: halt the bench, switch off the motor and valve supply "
            "and wait until the disc and the valve stand still.",
            "Treated seed and its dust can be harmful: the seed label says what to wear and how to "
            "clean up; catch the seed, do not blow it out.",
            "Do not look into the gates' infrared beams, and leave work on mains parts to "
            "licensed electricians under the local code."};
}

} // namespace dropledger::report
