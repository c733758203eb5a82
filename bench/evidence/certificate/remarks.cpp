#include "bench/evidence/certificate/remarks.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <set>

namespace dropledger::evidence {

using batch::Certificate;
using Sentences = std::vector<std::string>;

namespace {

std::string how_many(std::int64_t count, const char* one, const char* many) {
    return fmt::format("{} {}", count, count == 1 ? one : many);
}

void add_rehearsal(const Certificate& certificate, Sentences& all) {
    if (!certificate.batch.rehearsal)
        return;
    const auto simulated = std::count_if(certificate.runs.begin(), certificate.runs.end(),
                                         [](const auto& run) { return run.simulated; });
    all.push_back(fmt::format("REHEARSAL: {} of {} runs were SIMULATED, and times may have been "
                              "stated. This certifies nothing.",
                              simulated, certificate.runs.size()));
}

void add_resubmission(const Certificate& certificate, Sentences& all) {
    if (certificate.batch.resubmitted)
        all.push_back(fmt::format("RESUBMITTED: units of this batch stood in batch {} before "
                                  "(latest entry {}).",
                                  certificate.batch.resubmitted->id,
                                  certificate.batch.resubmitted->head));
}

std::string choice_words(const batch::Choice& choice) {
    const std::string seed = choice.seed ? fmt::format("{}", *choice.seed) : "none";
    switch (choice.origin) {
    case batch::SeedOrigin::with_buyer:
        return fmt::format("The units were chosen by the seed {}, made of a part that the issuer "
                           "had bound when the batch was opened and of the buyer's text '{}'.",
                           seed, choice.buyer_text);
    case batch::SeedOrigin::drawn:
        return fmt::format("The units were chosen by the seed {}, which the issuer's program drew, "
                           "WITHOUT A BUYER'S PART: that it was drawn only once is the issuer's "
                           "word.",
                           seed);
    case batch::SeedOrigin::typed:
        return fmt::format("The units were chosen by the seed {}, which the issuer TYPED, WITHOUT "
                           "A BUYER'S PART: it may have been picked for the units that it chooses.",
                           seed);
    }
    throw BrokenInvariant("a seed from nowhere");
}

void add_taken_out(const Certificate& certificate, Sentences& all) {
    const batch::TakenOutTally& taken = certificate.decision.taken_out;
    if (taken.runs == 0) {
        all.emplace_back("No run was taken out of the count.");
        return;
    }
    std::set<std::string> causes;
    for (const batch::TestedRun& run : certificate.runs)
        if (run.taken_out)
            causes.emplace(row_in(batch::void_cause_names, run.taken_out->cause).key);
    all.push_back(fmt::format("{} taken out of the count after {} been judged, {} of them "
                              "outside ({}); the batch can't be accepted where more than {} lost "
                              "such a run, {} did.",
                              how_many(taken.runs, "run was", "runs were"),
                              taken.runs == 1 ? "it had" : "they had", taken.outside,
                              fmt::join(causes, ", "), how_many(taken.bound, "unit", "units"),
                              how_many(taken.units_outside, "unit", "units")));
}

void add_undecided(const Certificate& certificate, Sentences& all) {
    std::int64_t undecided = 0;
    std::int64_t early = 0;
    std::int64_t contradicted = 0;
    for (const batch::TestedRun& run : certificate.runs) {
        if (!run.counted() || run.outcome != verdict::Outcome::undecided)
            continue;
        ++undecided;
        early += run.held_back == batch::HeldBack::halted_early ? 1 : 0;
        contradicted += run.held_back == batch::HeldBack::calibration_contradicted ? 1 : 0;
    }
    if (undecided > 0)
        all.push_back(fmt::format("{} decided nothing ({} of them halted early, {} against their "
                                  "calibration); a unit with no other was tested again.",
                                  how_many(undecided, "run", "runs"), early, contradicted));
}

std::int64_t missing_runs(const Certificate& certificate) {
    std::int64_t missing = 0;
    for (const batch::MissingRuns& gap : certificate.missing_runs)
        missing += gap.last - gap.first + 1;
    return missing;
}

// "3, 7 to 9, …"
std::string missing_numbers(const Certificate& certificate) {
    constexpr std::size_t most_places = 8;
    Sentences places;
    for (const batch::MissingRuns& gap : certificate.missing_runs)
        if (places.size() < most_places)
            places.push_back(gap.first == gap.last ? fmt::format("{}", gap.first)
                                                   : fmt::format("{} to {}", gap.first, gap.last));
    return fmt::format("{}{}", fmt::join(places, ", "),
                       certificate.missing_runs.size() > places.size() ? ", …" : "");
}

void add_counter(const Certificate& certificate, Sentences& all) {
    std::set<std::string> logs;
    std::int64_t without = 0;
    for (const batch::TestedRun& run : certificate.runs)
        if (logs.insert(run.file).second && !run.run_number)
            ++without;
    if (without > 0)
        all.push_back(fmt::format("{} of {} logs carry NO RUN NUMBER: whether runs were left out "
                                  "can't be seen.",
                                  without, logs.size()));
    if (const std::int64_t missing = missing_runs(certificate); missing > 0)
        all.push_back(fmt::format("By the bench's run counter {} between the first and the last of "
                                  "this batch {} NOT LISTED here (numbers {}): of other units, "
                                  "never finished, or left out.",
                                  how_many(missing, "run", "runs"), missing == 1 ? "is" : "are",
                                  missing_numbers(certificate)));
    else if (without == 0 && !logs.empty())
        all.emplace_back("By the bench's run counter no run is missing between the first and the "
                         "last of this batch.");
}

void add_conditions(const Certificate& certificate, Sentences& all) {
    if (certificate.conditions.size() > 1)
        all.push_back(fmt::format("The runs were made under {} DIFFERENT CONDITIONS (speed, "
                                  "spacing, seed, bench, operator or firmware); they are listed.",
                                  certificate.conditions.size()));
}

void add_keys(const Certificate& certificate, Sentences& all) {
    Sentences words;
    for (const batch::CertifiedKey& key : certificate.keys)
        words.push_back(fmt::format(
            "{}… signed {} and {}", key.public_key.substr(0, 12), how_many(key.logs, "log", "logs"),
            how_many(key.entries, "entry of the batch file", "entries of the batch file")));
    all.push_back(fmt::format("{}: {}.",
                              certificate.keys.size() == 1 ? "One key signed all of it"
                                                           : "SEVERAL KEYS signed it",
                              fmt::join(words, "; ")));
}

void add_calibrations(const Certificate& certificate, Sentences& all) {
    for (const batch::UsedCalibration& one : certificate.calibrations) {
        if (!one.found.efficiency)
            continue;
        if (one.found.rests_on == batch::RestsOn::logs)
            all.push_back(fmt::format("The efficiency in calibration {} ({}) follows from its "
                                      "logs: {}.",
                                      one.id, one.holds_for, one.found.figures));
        else
            all.push_back(fmt::format(
                "The efficiency in calibration {} ({}) rests on figures that were TYPED, not on "
                "logs{}.",
                one.id, one.holds_for, one.found.figures.empty() ? "" : ": " + one.found.figures));
    }
}

} // namespace

Sentences remarks_on(const Certificate& certificate) {
    Sentences all;
    add_rehearsal(certificate, all);
    add_resubmission(certificate, all);
    all.push_back(choice_words(certificate.batch.choice));
    add_taken_out(certificate, all);
    add_undecided(certificate, all);
    add_counter(certificate, all);
    add_conditions(certificate, all);
    add_keys(certificate, all);
    add_calibrations(certificate, all);
    return all;
}

Sentences not_said(const Certificate& certificate) {
    Sentences sentences;
    if (certificate.plan.n < certificate.batch.size)
        sentences.push_back(fmt::format(
            "It does not say that each of the {} units keeps the limits: {} were chosen at "
            "random and tested; the risks of the plan are stated.",
            certificate.batch.size, certificate.plan.n));
    sentences.emplace_back("It speaks of the units as they were on the bench, with the seed, the "
                           "speed and the spacing of the runs: not of other seed, of wear, or of "
                           "work in the field.");
    sentences.emplace_back(
        "Misses and their shares are as the gate saw them, a seed that the gate overlooked is a "
        "miss; the verdict on each run takes the calibrated gate's own misses out.");
    sentences.emplace_back(
        "The signature shows that a holder of the key issued it and nothing was changed since; "
        "whose key that is must be known from elsewhere.");
    sentences.emplace_back(
        "Whoever holds the key can invent a whole bench, its clock and every log: that these runs "
        "took place is the issuer's word, and no program can prove it.");
    return sentences;
}

Sentences cautions() {
    return {
        "Seed may be treated, and its dust harms: the seed label says which protection to wear.",
        "Discs, belts and valves move without warning; gates emit invisible infrared light; motors "
        "and valves "
        "carry current: switch off and unplug before reaching in.",
        "The seed label, local codes and licensed practice rule over this certificate."};
}

} // namespace dropledger::evidence
