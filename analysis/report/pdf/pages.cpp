#include "analysis/report/pdf/pages.hpp"

#include "analysis/report/pdf/attachment.hpp"
#include "analysis/report/pdf/curve.hpp"
#include "analysis/report/pdf/drawing.hpp"
#include "analysis/report/pdf/paper.hpp"
#include "analysis/report/pdf/table.hpp"
#include "analysis/report/pdf/words.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

namespace dropledger::report::certificate {

using batch::Certificate;

namespace {

constexpr double under_heading = 96.0; // points: some lines, or a table's head and rows
constexpr double label_width = 84.0;
constexpr CurvePlace curve_size{{Paper::right - 186.0, 0.0}, 186.0, 132.0};

void item(Paper& paper, std::string_view label, const TextBox& label_box, std::string_view text,
          const TextBox& text_box) {
    paper.begin("LI");
    paper.begin("Lbl");
    paper.put(label, label_box, paper.y());
    paper.end("Lbl");
    paper.begin("LBody");
    paper.flow(text, text_box);
    paper.end("LBody");
    paper.end("LI");
}

void bullets(Paper& paper, const std::vector<std::string>& sentences) {
    paper.begin("L");
    for (const std::string& sentence : sentences) {
        paper.keep_together(12.0);
        item(paper, "\xE2\x80\xA2", {.x = Paper::left, .width = 10.0}, sentence,
             {.x = Paper::left + 10.0, .width = Paper::full - 10.0});
        paper.gap(1.5);
    }
    paper.end("L");
}

void opening(Paper& paper, const Certificate& certificate) {
    paper.flow("Test report and certificate of a batch of seeding units",
               {.x = Paper::left, .width = Paper::full, .type = Type::body});
    paper.gap(2.0);
    paper.flow(title(certificate), {.x = Paper::left, .width = Paper::full, .type = Type::title});
    paper.gap(5.0);
    paper.flow(lead(certificate), {.x = Paper::left, .width = Paper::full, .type = Type::lead});
    paper.gap(9.0);
}

void fact_rows(Paper& paper, const std::vector<Fact>& facts, double width) {
    paper.begin("L");
    for (const Fact& fact : facts) {
        paper.keep_together(12.0);
        item(paper, fact.label, {.x = Paper::left, .width = label_width, .type = Type::bold},
             fact.text, {.x = Paper::left + label_width, .width = width - label_width});
        paper.gap(2.5);
    }
    paper.end("L");
}

// The facts beside the plan's curve.
void facts_and_curve(Paper& paper, const Certificate& certificate) {
    paper.keep_together(curve_size.height);
    const double begin = paper.y();
    const int page = paper.page();
    CurvePlace place = curve_size;
    place.corner.y = begin;
    const bool drawn = draw_curve(paper, certificate, place);
    fact_rows(paper, facts(certificate),
              drawn ? Paper::full - curve_size.width - 14.0 : Paper::full);
    if (drawn && paper.page() == page)
        paper.move_to(std::max(paper.y(), begin + curve_size.height));
    paper.gap(3.0);
    paper.flow(risks(certificate.plan),
               {.x = Paper::left, .width = Paper::full, .type = Type::small});
}

// "gate fault" of gate_fault.
std::string in_words(std::string_view key) {
    std::string words{key};
    std::replace(words.begin(), words.end(), '_', ' ');
    return words;
}

std::string note_of(const batch::CertifiedRun& run) {
    if (run.taken_out)
        return fmt::format("TAKEN OUT: {}: {}",
                           in_words(row_in(batch::void_cause_names, run.taken_out->cause).key),
                           run.taken_out->text);
    if (run.held_back != batch::HeldBack::no)
        return in_words(row_in(batch::held_back_names, run.held_back).key);
    return run.reason.empty() ? "" : "re-test: " + run.reason;
}

std::string true_share(const batch::CertifiedRun& run) {
    if (!run.corrected_miss)
        return "\xE2\x80\x93";
    const auto& share = *run.corrected_miss;
    return estimate_value(share, Unit::percent) +
           (share.interval ? fmt::format(" ({})", estimate_interval(share, Unit::percent)) : "");
}

// All runs of a unit beside each other, units in the order of their choice.
std::vector<const batch::CertifiedRun*> runs_by_unit(const Certificate& certificate) {
    std::vector<const batch::CertifiedRun*> runs;
    std::map<std::string_view, std::size_t> place;
    for (const std::string& unit : certificate.batch.chosen)
        place.emplace(unit, place.size());
    for (const auto& run : certificate.runs)
        runs.push_back(&run);
    std::stable_sort(runs.begin(), runs.end(), [&](const auto* a, const auto* b) {
        const auto of = [&](const auto* run) {
            const auto found = place.find(run->unit);
            return found == place.end() ? place.size() : found->second;
        };
        return of(a) < of(b);
    });
    return runs;
}

// A table of a few limits; more of them in further tables.
void limit_table(Paper& paper, const Certificate& certificate, std::size_t first) {
    constexpr std::size_t beside = 4;
    const auto& limits = certificate.profile.limits;
    const std::size_t last = std::min(limits.size(), first + beside);
    std::vector<TableColumn> columns{{"unit", 74.0}, {"log", 92.0}};
    for (std::size_t i = first; i < last; ++i)
        columns.push_back({limit_head(limits[i]),
                           (Paper::full + 8.0 - 166.0) / static_cast<double>(last - first)});
    std::vector<TableRow> rows;
    for (const batch::CertifiedRun* run : runs_by_unit(certificate)) {
        TableRow row{{run->unit, run->file}, false};
        for (std::size_t i = first; i < last; ++i) {
            const bool known = i < run->limits.size();
            row.cells.push_back(known ? result_words(run->limits[i]) : "\xE2\x80\x93");
            if (known && run->limits[i].outcome == verdict::Outcome::outside) {
                row.cells.back() += ": outside";
                row.bold = true;
            }
        }
        rows.push_back(std::move(row));
    }
    table(paper, std::move(columns), rows);
    paper.gap(6.0);
}

void limit_tables(Paper& paper, const Certificate& certificate) {
    if (certificate.profile.limits.empty())
        return;
    paper.heading("Results against each limit", under_heading);
    for (std::size_t first = 0; first < certificate.profile.limits.size(); first += 4)
        limit_table(paper, certificate, first);
    paper.flow(fmt::format("In brackets the {} interval, by which the limit is judged; the gate's "
                           "own misses are taken out where its calibration allows.",
                           percent_words(certificate.profile.confidence)),
               {.x = Paper::left, .width = Paper::full, .type = Type::small});
}

void unit_table(Paper& paper, const Certificate& certificate) {
    paper.heading("Units tested", under_heading);
    std::vector<TableRow> rows;
    for (const batch::CertifiedRun* one : runs_by_unit(certificate)) {
        const batch::CertifiedRun& run = *one;
        rows.push_back({{run.unit, run.file, run.started.substr(0, 10), grouped(run.drops),
                         grouped(run.misses), true_share(run),
                         std::string{verdict::name_of(run.outcome)}, note_of(run)},
                        run.outcome == verdict::Outcome::outside});
    }
    table(paper,
          {{"unit", 58.0},
           {"log", 84.0},
           {"date", 54.0},
           {"drops", 34.0, Align::right},
           {"misses", 40.0, Align::right},
           {"misses, corrected", 104.0},
           {"outcome", 46.0},
           {"note", Paper::full - 420.0 + 8.0}},
          rows);
    paper.gap(3.0);
    paper.flow("One line a run, as recorded in its sealed log; bold: outside. Misses as the gate "
               "saw them; corrected: its own misses taken out, by calibration.",
               {.x = Paper::left, .width = Paper::full, .type = Type::small});
}

// A hash or a key, large enough to be compared by eye, and what it is of.
void hash_line(Paper& paper, const std::string& hex, const std::string& of) {
    paper.keep_together(24.0);
    paper.flow(hex, {.x = Paper::left, .width = Paper::full, .type = Type::key});
    paper.flow(of, {.x = Paper::left, .width = Paper::full, .type = Type::small});
    paper.gap(2.0);
}

void calibration_table(Paper& paper, const Certificate& certificate) {
    paper.heading("Calibrations", under_heading);
    if (certificate.calibrations.empty()) {
        paper.flow("None was used.", {.x = Paper::left, .width = Paper::full});
        return;
    }
    std::vector<TableRow> rows;
    for (const auto& calibration : certificate.calibrations)
        rows.push_back({{calibration.id, calibration.file, calibration.expires,
                         calibration.holds_for, efficiency_words(calibration)},
                        false});
    table(paper,
          {{"calibration", 84.0},
           {"file", 84.0},
           {"expires", 58.0},
           {"holds for", 110.0},
           {"efficiency, how found", 163.0 + 8.0}},
          rows);
    paper.gap(3.0);
    for (const auto& calibration : certificate.calibrations)
        hash_line(paper, calibration.sha256, calibration.file);
}

void log_annex(Paper& paper, const Certificate& certificate) {
    paper.heading("Annex: logs and keys", under_heading);
    std::vector<TableRow> rows;
    std::set<std::string> seen;
    for (const auto& run : certificate.runs)
        if (seen.insert(run.file).second)
            rows.push_back({{run.run_number ? grouped(*run.run_number) : "\xE2\x80\x93", run.file,
                             run.sha256, run.signed_by.substr(0, 12)},
                            false});
    table(paper,
          {{"number", 40.0, Align::right},
           {"log", 108.0},
           {"SHA-256", 272.0, Align::left, true},
           {"key", 79.0 + 8.0, Align::left, true}},
          rows);
    paper.gap(3.0);
    for (const auto& key : certificate.keys)
        hash_line(paper, key.public_key,
                  fmt::format("public key of {} logs and {} entries of the batch file",
                              grouped(key.logs), grouped(key.entries)));
}

void profile_annex(Paper& paper, const Certificate& certificate) {
    paper.heading("Annex: the profile, whole", under_heading);
    hash_line(paper, certificate.profile.sha256, "SHA-256 of the text that follows");
    paper.flow(certificate.profile.text,
               {.x = Paper::left, .width = Paper::full, .type = Type::mono});
}

void signing(Paper& paper, const Certificate& certificate) {
    paper.heading("How to check it", under_heading);
    for (const Check& check : checking(certificate, attachment_name(certificate))) {
        bullets(paper, {check.sentence});
        paper.flow(check.exact,
                   {.x = Paper::left + 10.0, .width = Paper::full - 10.0, .type = Type::key});
        paper.gap(2.5);
    }
}

std::string footer(const Certificate& certificate) {
    return fmt::format(
        "{}Certificate {}, {}",
        certificate.batch.rehearsal ? "SIMULATED, a rehearsal: it certifies nothing.  " : "",
        certificate.id, certificate.program);
}

void report_head(Paper& paper, const Certificate& certificate) {
    opening(paper, certificate);
    fact_rows(paper, report_facts(certificate), Paper::full);
    paper.flow(
        "Issuer, place, client, product, authorisation and deviations are the issuer's word; "
        "nothing of it was checked.",
        {.x = Paper::left, .width = Paper::full, .type = Type::small});
}

void findings(Paper& paper, const Certificate& certificate) {
    paper.heading("What to know first", under_heading);
    bullets(paper, certificate.remarks);
    paper.heading("What was decided, and how", under_heading);
    facts_and_curve(paper, certificate);
    paper.gap(5.0);
    bullets(paper, decision_rule(certificate));
    paper.heading("How it was tested", under_heading);
    bullets(paper, method(certificate));
    bullets(paper, conditions(certificate));
    paper.heading("What to expect of all units", under_heading);
    bullets(paper, expectations(certificate.statistics));
    paper.heading("What this certificate does not say", under_heading);
    bullets(paper, certificate.not_said);
    paper.heading("Before anyone works on a unit", under_heading);
    bullets(paper, certificate.cautions);
}

void annexes(Paper& paper, const Certificate& certificate) {
    unit_table(paper, certificate);
    limit_tables(paper, certificate);
    calibration_table(paper, certificate);
    log_annex(paper, certificate);
    profile_annex(paper, certificate);
    paper.gap(8.0);
    paper.flow("This report is to be reproduced in full only.",
               {.x = Paper::left, .width = Paper::full, .type = Type::small});
}

// `pages`: how many there will be; 0 while that is not known.
Printed print(const Certificate& certificate, int pages) {
    Paper paper({.title = title(certificate),
                 .author = certificate.program,
                 .created = certificate.issued,
                 .footer = footer(certificate),
                 .pages = pages});
    paper.begin("Document");
    report_head(paper, certificate);
    findings(paper, certificate);
    signing(paper, certificate);
    annexes(paper, certificate);
    paper.end("Document");
    return paper.finish();
}

} // namespace

Status can_draw() {
    return loads_drawing();
}

std::string pages(const Certificate& certificate) {
    return with_page_numbers([&](int count) { return print(certificate, count); });
}

std::string with_signed(const std::string& pages, const Certificate& certificate,
                        std::string_view signed_json) {
    const auto attached =
        with_attachment(pages, {attachment_name(certificate), std::string(signed_json)});
    if (!attached)
        throw BrokenInvariant("certificate pages: cairo wrote a PDF that takes no attachment");
    return *attached;
}

std::optional<PrintedCertificate> taken_apart(std::string_view pdf) {
    auto found = attachment_of(pdf);
    if (!found)
        return std::nullopt;
    return PrintedCertificate{std::move(found->file.bytes), std::move(found->pages)};
}

} // namespace dropledger::report::certificate
