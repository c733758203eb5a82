#include "sample.hpp"

#include "analysis/base/version.hpp"
#include "analysis/batch/chain/batch.hpp"

#include <fmt/format.h>

namespace dropledger::report::certificate {

namespace {

using namespace dropledger::batch;
using statistics::Interval;

statistics::Estimate share(double low, double value, double high) {
    return {value, Interval{low, high}, Confidence{0.95}, "constructed"};
}

TestedRun run_of(int i) {
    TestedRun run;
    run.unit = fmt::format("SU-{:04}", 7 + 3 * i);
    run.channel = 1;
    run.run = fmt::format("R-{:05}", i + 1);
    run.file = run.run + ".droplog";
    run.sha256 = std::string(64, 'c');
    run.started = fmt::format("2026-01-{:02}T09:{:02}:00Z", 5 + i / 20, i % 60);
    run.calibrations = {"CAL-2"};
    run.outcome = i == 0 ? verdict::Outcome::outside : verdict::Outcome::within;
    run.drops = 500;
    run.misses = i == 0 ? 41 : i % 15;
    run.corrected_miss = share(0.01, 0.02, 0.03);
    run.limits = {{{measures::Quantity::miss_index, 0.05},
                   share(0.01, i == 2 ? 1e-9 : 0.02, 0.03),
                   run.outcome},
                  {{measures::Quantity::offset_mm, 10.0},
                   statistics::Estimate{2.5, Interval{1.0, 4.0}, Confidence{0.95}, "constructed"},
                   verdict::Outcome::within}};
    run.ended = run.started;
    run.run_number = i + 1;
    if (i == 3)
        run.taken_out = TakenOut{VoidCause::drive_fault, "belt slipped", run.started};
    run.reason = i == 4 ? "belt slipped in the first run" : "";
    return run;
}

} // namespace

Certificate sample_certificate(int tested) {
    Certificate made;
    made.id = "SPRING-07/2026-02-01T10:00:00Z";
    made.issued = "2026-02-01T10:00:00Z";
    made.valid_until = "2031-01-31";
    made.program = program_and_version();
    made.batch.id = "SPRING-07";
    made.batch.opened = "2026-01-04T08:00:00Z";
    made.batch.size = 280;
    made.batch.serials_sha256 = std::string(64, 'a');
    made.batch.choice.seed = 7;
    made.batch.choice.method = "choice";
    made.batch.chosen_at = made.batch.opened;
    made.batch.journal = {"spring.batch.json", std::string(64, 'e'), std::string(64, 'f'), 12};
    made.profile.name = "single-fine";
    made.profile.sha256 = std::string(64, 'b');
    made.profile.confidence = 0.95;
    made.profile.least_drops = 250;
    made.profile.limits = {{measures::Quantity::miss_index, 0.05},
                           {measures::Quantity::offset_mm, 10.0}};
    made.plan.kind = batch::PlanKind::table;
    made.plan.level = "II";
    made.plan.aql_percent = 1.0;
    made.plan.severity = batch::Severity::normal;
    made.plan.severity_reason = "first batch of its kind";
    made.plan.letter = "G";
    made.plan.n = 50;
    made.plan.accept = 1;
    made.plan.reject = 2;
    const BatchPlan plan = *table_plan({.lot = 280, .level = "II", .aql = 1.0}, "");
    made.plan.risks = risks_of(plan);
    made.plan.named = named_risks_of(plan);
    made.decision.tested = tested;
    made.decision.nonconforming = 1;
    made.decision.nonconforming_units = {"SU-0007"};
    made.decision.taken_out = {1, 0, 0, 2};
    made.decision.decided = "2026-01-31T16:20:00Z";
    made.batch.serial_ranges = {"SU-0001 to SU-0280"};
    made.report = {.number = "C-2026-07",
                   .issuer = "Invented Works",
                   .place = "Bench hall 2",
                   .client = "A. Buyer (invented)",
                   .product = "seeding unit, type T-4",
                   .authorised_by = "M. Example, head of test",
                   .deviations = {"none"}};
    made.statistics = {.units = tested,
                       .drops = 500 * tested,
                       .misses = 7 * tested,
                       .pooled_miss = share(0.012, 0.014, 0.016),
                       .nonconforming_share = share(0.001, 0.02, 0.1),
                       .limit = 0.05,
                       .share_outside = share(0.002, 0.012, 0.034),
                       .tarone_p = 0.2};
    for (int i = 0; i < tested; ++i) {
        made.runs.push_back(run_of(i));
        made.batch.chosen.push_back(made.runs.back().unit);
    }
    made.calibrations = {{"CAL-2",
                          "CAL-2.toml",
                          std::string(64, 'd'),
                          "2026-12-31",
                          "gate 1, bench bench-1, whichever unit hangs on it",
                          {share(0.95, 0.99, 1.0),
                           "two gates",
                           RestsOn::logs,
                           "990 seeds seen by both gates, 1000 by the first, 995 by the second",
                           {"CAL-2.droplog"}}}};
    made.conditions = {{{.bench = "bench-1",
                         .operated_by = "M. Example",
                         .firmware = "7",
                         .crop = "chicory",
                         .seed_lot = "INV-CH-07",
                         .thousand_seed_mass_mg = "1500",
                         .mode = "single",
                         .spacing_um = "180000",
                         .count = "1",
                         .rate_per_m_milli = "",
                         .speed_um_s = "250000"},
                        tested}};
    made.keys = {{std::string(64, '9'), tested, 12}};
    made.tested_from = "2026-01-05T09:00:00Z";
    made.tested_to = "2026-01-07T09:59:00Z";
    made.remarks = {"The units were chosen by the seed 7, which the issuer TYPED.",
                    "1 run was taken out of the count after they had been judged."};
    made.not_said = {"It does not say that each of the 280 units keeps the limits."};
    made.cautions = {"Seed may be treated: the seed label says which protection to wear."};
    return made;
}

Certificate signed_sample(const Certificate& certificate) {
    return *signed_with(droplog::PrivateKey{1, 2, 3}, certificate);
}

} // namespace dropledger::report::certificate
