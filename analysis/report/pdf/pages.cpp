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
#include <set>

namespace dropledger::report::certificate {

using batch::Certificate;

namespace {

constexpr double full = Paper::right - Paper::left;
constexpr double label_width = 84.0;
constexpr CurvePlace curve_size{{Paper::right - 186.0, 0.0}, 186.0, 132.0};

void heading(Paper& paper, std::string_view text) {
    paper.gap(9.0);
    paper.keep_together(64.0); // with two lines, or a table's head and row
    paper.flow(text, {.x = Paper::left, .width = full, .type = Type::heading});
    paper.gap(2.0);
}

void bullets(Paper& paper, const std::vector<std::string>& sentences) {
    for (const std::string& sentence : sentences) {
        paper.keep_together(12.0);
        paper.put("\xE2\x80\xA2", {.x = Paper::left, .width = 10.0}, paper.y());
        paper.flow(sentence, {.x = Paper::left + 10.0, .width = full - 10.0});
        paper.gap(1.5);
    }
}

void opening(Paper& paper, const Certificate& certificate) {
    paper.flow("Certificate of a batch of seeding units",
               {.x = Paper::left, .width = full, .type = Type::body});
    paper.gap(2.0);
    paper.flow(title(certificate), {.x = Paper::left, .width = full, .type = Type::title});
    paper.gap(5.0);
    paper.flow(lead(certificate), {.x = Paper::left, .width = full, .type = Type::lead});
    paper.gap(9.0);
}

void fact_rows(Paper& paper, const Certificate& certificate, double width) {
    for (const Fact& fact : facts(certificate)) {
        const TextBox box{.x = Paper::left + label_width, .width = width - label_width};
        paper.keep_together(12.0);
        paper.put(fact.label, {.x = Paper::left, .width = label_width, .type = Type::bold},
                  paper.y());
        paper.flow(fact.text, box);
        paper.gap(2.5);
    }
}

// The facts beside the plan's curve.
void facts_and_curve(Paper& paper, const Certificate& certificate) {
    paper.keep_together(curve_size.height);
    const double begin = paper.y();
    const int page = paper.page();
    CurvePlace place = curve_size;
    place.corner.y = begin;
    const bool drawn = draw_curve(paper, certificate, place);
    fact_rows(paper, certificate, drawn ? full - curve_size.width - 14.0 : full);
    if (drawn && paper.page() == page)
        paper.move_to(std::max(paper.y(), begin + curve_size.height));
    paper.gap(3.0);
    paper.flow(risks(certificate.plan), {.x = Paper::left, .width = full, .type = Type::small});
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
    return value_words(share, Unit::percent) +
           (share.interval ? fmt::format(" ({})", interval_words(share, Unit::percent)) : "");
}

void unit_table(Paper& paper, const Certificate& certificate) {
    heading(paper, "Units tested");
    std::vector<TableRow> rows;
    for (const auto& run : certificate.runs)
        rows.push_back({{run.unit, run.file, run.started.substr(0, 10), grouped(run.drops),
                         grouped(run.misses), true_share(run),
                         std::string{verdict::name_of(run.outcome)}, note_of(run)},
                        run.outcome == verdict::Outcome::outside});
    table(paper,
          {{"unit", 74.0},
           {"log", 92.0},
           {"date", 54.0},
           {"drops", 38.0, Align::right},
           {"misses", 42.0, Align::right},
           {"misses, corrected", 96.0},
           {"outcome", 46.0},
           {"note", full - 442.0 + 8.0}},
          rows);
    paper.gap(3.0);
    paper.flow("One line a run, as recorded in its sealed log; bold: outside. Misses as the gate "
               "saw them; corrected: its own misses taken out, by calibration.",
               {.x = Paper::left, .width = full, .type = Type::small});
}

void calibration_table(Paper& paper, const Certificate& certificate) {
    heading(paper, "Calibrations");
    if (certificate.calibrations.empty()) {
        paper.flow("None was used.", {.x = Paper::left, .width = full});
        return;
    }
    std::vector<TableRow> rows;
    for (const auto& calibration : certificate.calibrations)
        rows.push_back({{calibration.id, calibration.file, calibration.expires,
                         efficiency_words(calibration), calibration.sha256},
                        false});
    table(paper,
          {{"calibration", 84.0},
           {"file", 84.0},
           {"expires", 58.0},
           {"efficiency, how found", 130.0},
           {"SHA-256", 143.0 + 8.0}},
          rows);
}

void log_annex(Paper& paper, const Certificate& certificate) {
    heading(paper, "Annex: logs and keys");
    std::vector<TableRow> rows;
    std::set<std::string> seen;
    for (const auto& run : certificate.runs)
        if (seen.insert(run.file).second)
            rows.push_back({{run.run_number ? grouped(*run.run_number) : "\xE2\x80\x93", run.file,
                             run.sha256, run.signed_by.substr(0, 12)},
                            false});
    table(paper,
          {{"number", 40.0, Align::right}, {"log", 108.0}, {"SHA-256", 278.0}, {"key", 73.0 + 8.0}},
          rows);
    paper.gap(3.0);
    for (const auto& key : certificate.keys)
        paper.flow(fmt::format("{}  {} logs, {} entries of the batch file", key.public_key,
                               grouped(key.logs), grouped(key.entries)),
                   {.x = Paper::left, .width = full, .type = Type::mono});
}

void profile_annex(Paper& paper, const Certificate& certificate) {
    heading(paper, "Annex: the profile, whole");
    paper.flow(certificate.profile.text, {.x = Paper::left, .width = full, .type = Type::mono});
}

void signing(Paper& paper, const Certificate& certificate) {
    heading(paper, "How to check it");
    for (const Check& check : checking(certificate, attachment_name(certificate))) {
        bullets(paper, {check.sentence});
        paper.flow(check.exact,
                   {.x = Paper::left + 10.0, .width = full - 10.0, .type = Type::mono});
        paper.gap(2.5);
    }
}

// `pages`: how many there will be; 0 while that is not known.
struct Printed {
    std::string bytes;
    int pages = 0;
};
Printed print(const Certificate& certificate, int pages) {
    Paper paper({.title = title(certificate),
                 .author = certificate.program,
                 .created = certificate.issued,
                 .footer = fmt::format("{}Certificate {}, {}",
                                       certificate.batch.rehearsal ? "SIMULATED, a rehearsal: it "
                                                                     "certifies nothing.  "
                                                                   : "",
                                       certificate.id, certificate.program),
                 .pages = pages});
    opening(paper, certificate);
    heading(paper, "What to know first");
    bullets(paper, certificate.remarks);
    paper.gap(5.0);
    facts_and_curve(paper, certificate);
    heading(paper, "How it was tested");
    bullets(paper, conditions(certificate));
    heading(paper, "What to expect of all units");
    bullets(paper, expectations(certificate.statistics));
    heading(paper, "What this certificate does not say");
    bullets(paper, certificate.not_said);
    heading(paper, "Before anyone works on a unit");
    bullets(paper, certificate.cautions);
    signing(paper, certificate);
    unit_table(paper, certificate);
    calibration_table(paper, certificate);
    log_annex(paper, certificate);
    profile_annex(paper, certificate);
    const int printed = paper.page();
    return {paper.finish(), printed};
}

} // namespace

Status can_draw() {
    return loads_drawing();
}

std::string pages(const Certificate& certificate) {
    const int count = print(certificate, 0).pages;
    return print(certificate, count).bytes;
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
