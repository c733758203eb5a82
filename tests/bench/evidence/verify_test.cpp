// Files and figures of these tests are invented; each forgery is made here.
#include "verifying.hpp"

#include "analysis/base/version.hpp"
#include "analysis/batch/chain/batch_file.hpp"
#include "analysis/droplog/line.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <stdexcept>

using namespace dropledger;
using namespace dropledger::evidence;
using batch::Certificate;

TEST(Verify, FindsNothingWrongWithAnHonestCertificate) {
    const Verification found = verified(sample());
    EXPECT_TRUE(found.holds()) << text_of(found);
    EXPECT_EQ(found.logs, 2U);
    EXPECT_EQ(found.certificate->decision.outcome, batch::LotOutcome::accepted);
    EXPECT_EQ(found.certificate->runs.at(0).calibrations, (std::vector<std::string>{"CAL-1"}));
    EXPECT_TRUE(found.certificate->runs.at(0).corrected_miss);
    VerifyOptions strict = on("2031-01-06", bench_key);
    strict.serials = sample().batch.serials;
    strict.opening = sample().batch.journal.opening();
    EXPECT_TRUE(verified(sample(), strict).holds()) << text_of(verified(sample(), strict));
}

TEST(Verify, RefusesWhatIsNoCertificate) {
    Sample broken = copy();
    broken.certificate.pop_back();
    expect_only(verified(broken), "not_a_certificate", "it is not JSON");
    broken.certificate = "{}";
    expect_only(verified(broken), "not_a_certificate", "not a certificate of this version");
}

TEST(Verify, RefusesAForgedCertificate) {
    Sample other = copy();
    const auto at = other.certificate.find("\"size\":4");
    other.certificate.replace(at, 8, "\"size\":5");
    expect_failure(verified(other), "bad_signature", "was changed, or is forged");
    other.certificate = sample().certificate + "\n";
    expect_only(verified(other), "not_canonical", "changed after it was issued");
}

TEST(Verify, RefusesAnotherKey) {
    Sample other = copy();
    other.certificate = forged(
        sample(), [](Certificate&) {}, stranger);
    expect_only(verified(other, on("2026-02-01", bench_key)), "other_key",
                "it is signed by the key " + hex_of(stranger));
}

TEST(Verify, RefusesAnExpiredCertificate) {
    expect_only(verified(sample(), on("2031-01-07")), "expired",
                "it was valid until 2031-01-06, today is 2031-01-07");
    Sample other = copy();
    other.certificate = forged(sample(), [](Certificate& c) { c.valid_until = "always"; });
    expect_only(verified(other), "expired", "does not say until when");
}

TEST(Verify, RefusesAMissingLog) {
    Sample other = copy();
    other.files->erase("run1.droplog");
    expect_only(verified(other), "log_missing", "run1.droplog: the log of run");
    other.certificate =
        forged(sample(), [](Certificate& c) { c.runs[0].file = "../run0.droplog"; });
    expect_failure(verified(other), "log_missing", "../run0.droplog");
}

TEST(Verify, RefusesAChangedLogAndNamesTheBrokenSeal) {
    Sample other = copy();
    std::string& log = (*other.files)["run0.droplog"];
    log[log.size() / 2] ^= 1;
    const Verification found = verified(other);
    expect_failure(found, "log_changed", "certified was " + other.batch.runs[0].sha256);
    expect_failure(found, "seal_broken", "does not hold for the lines from");
}

TEST(Verify, RefusesATruncatedLog) {
    Sample other = copy();
    std::string& log = (*other.files)["run0.droplog"];
    log.resize(log.size() / 2);
    const Verification found = verified(other);
    expect_failure(found, "log_truncated", "without the @close line");
    expect_failure(found, "log_changed", "run0.droplog");
}

TEST(Verify, RefusesLogsThatWereMixedUp) {
    Sample other = copy();
    std::swap((*other.files)["run0.droplog"], (*other.files)["run1.droplog"]);
    const Verification found = verified(other);
    expect_failure(found, "log_mixed_up",
                   "run0.droplog: it holds the log of run " + sample().batch.runs[1].run);
    expect_failure(found, "log_mixed_up", "which is listed as run0.droplog");
    EXPECT_EQ(found.failures.size(), 2U) << text_of(found);
}

TEST(Verify, RefusesALogThatIsNone) {
    Sample other = copy();
    (*other.files)["run0.droplog"] = "no log\n";
    expect_failure(verified(other), "log_unreadable", "run0.droplog");
}

TEST(Verify, RefusesALogThatIsNotSignedOrByAnotherKey) {
    const auto unsigned_log = [](Files& files) {
        files["run0.droplog"] =
            log_of({sample().batch.chosen[0], 1, 0.99, std::nullopt, started_of(0)});
    };
    try {
        static_cast<void>(made(unsigned_log));
        FAIL();
    } catch (const std::runtime_error& refused) {
        EXPECT_NE(std::string{refused.what()}.find("it is not signed"), std::string::npos);
    }
    Sample other = copy();
    other.certificate =
        forged(sample(), [](Certificate& c) { c.runs[0].signed_by = hex_of(stranger); });
    expect_failure(verified(other), "log_key_differs",
                   "it is signed by the key " + hex_of(bench_key));
    expect_failure(verified(other, on("2026-02-01", bench_key)), "log_other_key",
                   "it is signed by the key " + hex_of(stranger));
}

TEST(Verify, RefusesASignatureThatDoesNotFitTheLog) {
    Sample other = copy();
    std::string& log = (*other.files)["run0.droplog"];
    const std::string close = log.substr(log.rfind("@close"));
    std::string body = close.substr(0, close.find('*'));
    body.back() = body.back() == '0' ? '1' : '0';
    log.replace(log.rfind("@close"), std::string::npos, droplog::encode(body) + "\n");
    expect_failure(verified(other), "log_bad_signature", "does not fit its last seal");
}

TEST(Verify, RefusesMissingAndChangedCalibrations) {
    Sample other = copy();
    other.files->erase("cal.toml");
    expect_only(verified(other), "calibration_missing",
                "the record of calibration CAL-1 is not in the folder");
    other = copy();
    (*other.files)["cal.toml"] += "\n";
    expect_only(verified(other), "calibration_changed", "not the record of calibration CAL-1");
    other = copy();
    other.certificate = forged(sample(), [](Certificate& c) { c.calibrations.clear(); });
    expect_failure(verified(other), "calibration_missing", "CAL-1 is not listed");
}

TEST(Verify, RefusesACalibrationThatHadExpiredOnTheDay) {
    const Sample expired = made([](Files& files) {
        std::string& record = files["cal.toml"];
        record.replace(record.find("2026-12-31"), 10, "2026-01-04");
    });
    expect_failure(verified(expired), "calibration_expired",
                   "calibration CAL-1 had expired on 2026-01-04, the run of unit " +
                       expired.batch.chosen[0] + " began on 2026-01-05");
}

TEST(Verify, RefusesACalibrationOfAnotherUnit) {
    const Sample foreign = made([](Files& files) {
        std::string& record = files["cal.toml"];
        record.insert(record.find("gate = 1"), "unit = \"X-9\"\n");
    });
    expect_failure(verified(foreign), "uncalibrated", "has no calibration of its counting");
    Sample other = copy();
    other.certificate = forged(sample(), [](Certificate& c) { c.runs[0].calibrations.clear(); });
    expect_failure(verified(other), "uncalibrated", "run0.droplog");
}

TEST(Verify, RefusesAProfileThatIsNotTheBatchs) {
    Sample other = copy();
    other.certificate = forged(sample(), [](Certificate& c) {
        c.profile.limits = {{measures::Quantity::miss_index, 0.01}};
    });
    expect_only(verified(other), "profile_changed", "profile.limits");
    other.certificate = forged(sample(), [](Certificate& c) { c.profile.text += "# \n"; });
    expect_failure(verified(other), "profile_changed", "its text does not have its SHA-256");
}

TEST(Verify, RefusesResultsThatTheLogsDoNotGive) {
    Sample other = copy();
    other.certificate = forged(sample(), [](Certificate& c) { c.runs[0].misses += 1; });
    expect_failure(verified(other), "outcome_differs", "audited again, unit");
    expect_failure(verified(other), "runs_differ", "runs[0].misses");
    other.certificate = forged(sample(), [](Certificate& c) { c.statistics.misses += 1; });
    expect_only(verified(other), "statistics_differ", "statistics.misses");
    other.certificate =
        forged(sample(), [](Certificate& c) { c.runs[1].outcome = verdict::Outcome::outside; });
    expect_failure(verified(other), "outcome_differs", "is within with");
    other.certificate = forged(sample(), [](Certificate& c) { c.runs[1].unit = c.runs[0].unit; });
    expect_failure(verified(other), "outcome_differs", "is not in channel 0");
    other.certificate =
        forged(sample(), [](Certificate& c) { c.runs[1].last_seal = std::string(64, '0'); });
    expect_failure(verified(other), "certificate_contradicts", "another run id or last seal");
    other.certificate = forged(sample(), [](Certificate& c) { c.runs[1].boots.clear(); });
    expect_failure(verified(other), "outcome_differs", "another time, boot");
}

// A certificate whose bound is not what this version works out.
Verification with_other_bound(const std::string& program, double factor) {
    Sample other = copy();
    other.certificate = forged(sample(), [&](Certificate& c) {
        c.program = program;
        c.statistics.share_outside->interval->high *= factor;
    });
    return verified(other);
}

// This version finds another share of misses in a log than the certificate's did.
Verification with_other_misses(const std::string& program, double factor) {
    Sample other = copy();
    other.certificate = forged(sample(), [&](Certificate& c) { c.program = program; });
    Means means;
    means.audit = [factor](const OpenBytes& log, const RunRequest& request,
                           const LogEvidence& found) {
        auto runs = runs_of_log(log, request, found);
        for (AuditedRun& one : runs.value())
            one.run.corrected_miss->interval->high *= factor;
        return runs;
    };
    return verify(other.certificate, other.folder(), on("2026-02-01"), means);
}

bool tells(const Verification& found, const std::string& words) {
    return std::any_of(
        found.not_checked.begin(), found.not_checked.end(),
        [&](const std::string& one) { return one.find(words) != std::string::npos; });
}

// A later version works a statistic out more closely: the certificate of an earlier one is no forgery for that.
TEST(Verify, TellsWhatAnotherVersionWorkedOutTwoHundredthsOtherwise) {
    const std::string earlier = "dropledger 0.1.0";
    const std::string present{program_and_version()};
    for (const auto& with : {with_other_bound, with_other_misses}) {
        EXPECT_TRUE(with(earlier, 1.019).holds()) << text_of(with(earlier, 1.019));
        EXPECT_FALSE(with(earlier, 1.021).holds());
        EXPECT_FALSE(with(present, 1.019).holds());
        EXPECT_TRUE(with(present, 1.0).holds()) << text_of(with(present, 1.0));
    }
    EXPECT_TRUE(tells(with_other_bound(earlier, 1.019), "had statistics.share_outside.high right"));
    EXPECT_TRUE(tells(with_other_misses(earlier, 1.019), "had corrected_miss of unit"));
    EXPECT_FALSE(tells(with_other_bound(earlier, 1.0), " right: it certified"));
}

TEST(Verify, TakesNoCountAndNoLimitFromAnotherVersionThatDoesNotFollow) {
    Sample other = copy();
    const auto says = [&](const std::function<void(batch::BatchStatistics&)>& change) {
        other.certificate = forged(sample(), [&](Certificate& c) {
            c.program = "dropledger 0.1.0";
            change(c.statistics);
        });
        return verified(other);
    };
    expect_only(says([](auto& s) { s.misses += 1; }), "statistics_differ", "statistics.misses");
    expect_only(says([](auto& s) { *s.limit *= 1.001; }), "statistics_differ", "statistics.limit");
}

TEST(Verify, RefusesADecisionThatDoesNotFollow) {
    Sample other = copy();
    other.certificate = forged(
        sample(), [](Certificate& c) { c.decision.outcome = batch::LotOutcome::not_accepted; });
    expect_only(verified(other), "decision_differs", "decision.outcome");
    other.certificate = forged(sample(), [](Certificate& c) { c.runs.pop_back(); });
    const Verification found = verified(other);
    expect_failure(found, "runs_differ", "runs");
    expect_failure(found, "run_left_out", "run1.droplog: it is a run of the chosen unit");
}

TEST(Verify, RefusesAPlanOrChoiceThatIsNot) {
    Sample other = copy();
    other.certificate = forged(sample(), [](Certificate& c) { c.plan.reject = 3; });
    expect_only(verified(other), "plan_differs", "plan.reject");
    other.certificate = forged(sample(), [](Certificate& c) { c.plan.risks.pop_back(); });
    expect_only(verified(other), "plan_differs", "plan.risks");
    other.certificate = forged(sample(), [](Certificate& c) { c.batch.chosen.push_back("U-9"); });
    expect_only(verified(other), "choice_differs", "batch.chosen");
    other.certificate = forged(sample(), [](Certificate& c) { c.batch.choice.seed = 12; });
    expect_only(verified(other), "choice_differs", "batch.choice.seed");
    expect_only(verified(sample(), knowing({"U-2", "U-1", "U-3", "U-4"})), "serials_changed",
                "not the certified one");
}

TEST(Verify, RefusesABatchFileThatIsNotTheCertifiedOne) {
    Sample other = copy();
    other.files->erase("b.batch.json");
    expect_only(verified(other), "batch_missing", "from which all follows");
    other = copy();
    std::string& text = (*other.files)["b.batch.json"];
    text.replace(text.find("within"), 6, "outsid");
    expect_only(verified(other), "batch_changed", "its signature does not fit");
    other = copy();
    batch::Batch open = sample().batch;
    EXPECT_TRUE(open.journal.append({{"kind", "void"}}, {bench_key, "2026-01-08T08:00:00Z"}));
    (*other.files)["b.batch.json"] = batch::to_text(open);
    expect_failure(verified(other), "batch_changed", "entry 4");
}

TEST(Verify, SaysWhatItDidNotCheck) {
    const auto open = verified(sample()).not_checked;
    EXPECT_EQ(open.size(), 6U);
    VerifyOptions strict = on("2026-02-01", bench_key);
    strict.serials = sample().batch.serials;
    strict.opening = sample().batch.journal.opening();
    EXPECT_EQ(verified(sample(), strict).not_checked.size(), 3U); // the seed, a revocation, the bench itself
    Sample other = copy();
    other.certificate = forged(sample(), [](Certificate& c) { c.program = "dropledger 9.9.9"; });
    const Verification found = verified(other);
    EXPECT_TRUE(found.holds()) << text_of(found);
    EXPECT_NE(found.not_checked[4].find("dropledger 9.9.9"), std::string::npos);
}

// Numbers that would break or exhaust a reader that believes them.
TEST(Verify, BelievesNoImpossibleNumbers) {
    Sample other = copy();
    for (const std::int64_t misses : {std::int64_t{-1}, std::int64_t{1'000'000'000'000}}) {
        other.certificate = forged(sample(), [&](Certificate& c) { c.runs[0].misses = misses; });
        expect_only(verified(other), "not_a_certificate", "counts that cannot be");
        other.certificate = forged(sample(), [&](Certificate& c) { c.batch.size = misses; });
        expect_only(verified(other), "member_differs", "batch.size");
        other.certificate = forged(sample(), [&](Certificate& c) { c.plan.n = misses; });
        expect_only(verified(other), "plan_differs", "plan.n");
    }
}

TEST(Verify, ReportsEveryFailure) {
    Sample other = copy();
    other.files->erase("run0.droplog");
    (*other.files)["cal.toml"] += "#";
    other.certificate += " ";
    const Verification found = verified(other, on("2040-01-01", stranger));
    for (const char* code :
         {"not_canonical", "other_key", "expired", "calibration_changed", "log_missing"})
        expect_failure(found, code, "");
}

TEST(Verify, RefusesARunThatTheBatchFileDoesNotKnow) {
    Sample other = copy();
    other.certificate = forged(sample(), [](Certificate& c) {
        batch::TestedRun extra = c.runs[0];
        extra.taken_out = batch::TakenOut{batch::VoidCause::gate_fault, "lid open", c.issued};
        extra.file = "void.droplog";
        extra.run = "another";
        c.runs.push_back(extra);
    });
    const Verification found = verified(other);
    expect_failure(found, "runs_differ", "runs");
    expect_failure(found, "log_missing", "void.droplog");
}
