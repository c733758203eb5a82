// Files and figures of these tests are invented; each forgery is made here.
#include "sample.hpp"

#include "analysis/droplog/line.hpp"

#include <gtest/gtest.h>

#include <algorithm>

using namespace dropledger;
using namespace dropledger::evidence;
using batch::Certificate;

namespace {

const Sample& sample() {
    static const Sample one = made();
    return one;
}

// A copy whose files may be changed.
Sample copy() {
    Sample other = sample();
    other.files = std::make_shared<Files>(*sample().files);
    return other;
}

Verification verified(const Sample& sample, const VerifyOptions& options = {.today = "2026-02-01",
                                                                            .public_key = {},
                                                                            .serials = {}}) {
    return verify(sample.certificate, sample.folder(), options);
}

std::string text_of(const Verification& verification) {
    std::string text;
    for (const Failure& failure : verification.failures)
        text += failure.code + " " + failure.where + ": " + failure.what + "\n";
    return text;
}

// This failure is reported, in these words.
void expect_failure(const Verification& verification, const std::string& code,
                    const std::string& words) {
    const bool found = std::any_of(
        verification.failures.begin(), verification.failures.end(), [&](const Failure& failure) {
            return failure.code == code &&
                   (failure.where + ": " + failure.what).find(words) != std::string::npos;
        });
    EXPECT_TRUE(found) << code << " (" << words << ") is not among:\n" << text_of(verification);
}

// … and nothing else.
void expect_only(const Verification& verification, const std::string& code,
                 const std::string& words) {
    expect_failure(verification, code, words);
    EXPECT_EQ(verification.failures.size(), 1U) << text_of(verification);
}

} // namespace

TEST(Verify, FindsNothingWrongWithAnHonestCertificate) {
    const Verification found = verified(sample());
    EXPECT_TRUE(found.holds()) << text_of(found);
    EXPECT_EQ(found.logs, 2U);
    EXPECT_EQ(found.certificate->decision.outcome, batch::LotOutcome::accepted);
    EXPECT_EQ(found.certificate->runs.at(0).calibrations, (std::vector<std::string>{"CAL-1"}));
    EXPECT_TRUE(found.certificate->runs.at(0).corrected_miss);
    const VerifyOptions strict{
        .today = "2031-01-06", .public_key = hex_of(bench_key), .serials = sample().batch.serials};
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
    const VerifyOptions pinned{
        .today = "2026-02-01", .public_key = hex_of(bench_key), .serials = {}};
    expect_only(verified(other, pinned), "other_key",
                "it is signed by the key " + hex_of(stranger));
}

TEST(Verify, RefusesAnExpiredCertificate) {
    expect_only(verified(sample(), {.today = "2031-01-07", .public_key = {}, .serials = {}}),
                "expired", "it was valid until 2031-01-06, today is 2031-01-07");
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
    const Sample unsigned_log = made([](Files& files) {
        files["run0.droplog"] = log_of({"U-3", 1, 0.99, std::nullopt});
        files["run1.droplog"] = log_of({"U-3", 2, 0.99, std::nullopt});
        // whichever units were chosen: the sample's own
        const auto units = sample().batch.chosen;
        files["run0.droplog"] = log_of({units[0], 1, 0.99, std::nullopt});
        files["run1.droplog"] = log_of({units[1], 2, 0.99, bench_key});
    });
    expect_only(verified(unsigned_log), "log_unsigned", "run0.droplog: it is not signed");
    Sample other = copy();
    other.certificate =
        forged(sample(), [](Certificate& c) { c.runs[0].signed_by = hex_of(stranger); });
    expect_only(verified(other), "log_other_key", "it is signed by the key " + hex_of(bench_key));
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

TEST(Verify, RefusesMissingAndChangedProfiles) {
    Sample other = copy();
    other.files->erase("wide.toml");
    expect_only(verified(other), "profile_missing", "wide.toml: it is not in the folder");
    other = copy();
    (*other.files)["wide.toml"] += "# \n";
    expect_only(verified(other), "profile_changed", "not the profile that judged");
    other = copy();
    other.certificate = forged(sample(), [](Certificate& c) {
        c.profile.limits = {{measures::Quantity::miss_index, 0.01}};
    });
    expect_only(verified(other), "profile_changed", "not those that the certificate states");
}

TEST(Verify, RefusesResultsThatTheLogsDoNotGive) {
    Sample other = copy();
    other.certificate = forged(sample(), [](Certificate& c) { c.runs[0].misses += 1; });
    expect_failure(verified(other), "outcome_differs", "audited again, unit");
    expect_failure(verified(other), "statistics_differ", "do not follow from the listed runs");
    other.certificate =
        forged(sample(), [](Certificate& c) { c.runs[1].outcome = verdict::Outcome::outside; });
    expect_failure(verified(other), "outcome_differs", "is within with");
    other.certificate = forged(sample(), [](Certificate& c) { c.runs[1].unit = c.runs[0].unit; });
    expect_failure(verified(other), "outcome_differs", "is not in channel 0");
    other.certificate =
        forged(sample(), [](Certificate& c) { c.runs[1].last_seal = std::string(64, '0'); });
    expect_only(verified(other), "certificate_contradicts", "another run id or last seal");
}

TEST(Verify, RefusesADecisionThatDoesNotFollow) {
    Sample other = copy();
    other.certificate = forged(
        sample(), [](Certificate& c) { c.decision.outcome = batch::LotOutcome::not_accepted; });
    expect_only(verified(other), "decision_differs", "give 0 nonconforming units and accepted");
    other.certificate = forged(sample(), [](Certificate& c) { c.runs.pop_back(); });
    expect_failure(verified(other), "decision_differs", "no decision");
}

TEST(Verify, RefusesAPlanOrChoiceThatIsNot) {
    Sample other = copy();
    other.certificate = forged(sample(), [](Certificate& c) { c.plan.reject = 3; });
    expect_failure(verified(other), "plan_differs",
                   "the plan for 4 units is 2 with 1/2, not 2 with 1/3");
    other.certificate = forged(sample(), [](Certificate& c) { c.plan.risks.pop_back(); });
    expect_only(verified(other), "plan_differs", "risks");
    other.certificate = forged(sample(), [](Certificate& c) { c.batch.chosen.push_back("U-9"); });
    expect_failure(verified(other), "choice_differs", "3 different units");
    const VerifyOptions serials{
        .today = "2026-02-01", .public_key = {}, .serials = {"U-2", "U-1", "U-3", "U-4"}};
    expect_only(verified(sample(), serials), "serials_changed", "not the certified one");
    other.certificate = forged(sample(), [](Certificate& c) { c.batch.seed = "12"; });
    const VerifyOptions true_serials{
        .today = "2026-02-01", .public_key = {}, .serials = sample().batch.serials};
    expect_only(verified(other, true_serials), "choice_differs", "the seed 12 chooses other units");
    other.certificate = forged(sample(), [](Certificate& c) { c.batch.seed = "twelve"; });
    expect_only(verified(other, true_serials), "choice_differs", "'twelve' is no seed");
}

// Numbers that would break or exhaust a reader that believes them.
TEST(Verify, BelievesNoImpossibleNumbers) {
    Sample other = copy();
    for (const std::int64_t misses : {std::int64_t{-1}, std::int64_t{1'000'000'000'000}}) {
        other.certificate = forged(sample(), [&](Certificate& c) { c.runs[0].misses = misses; });
        expect_only(verified(other), "not_a_certificate", "counts that cannot be");
        other.certificate = forged(sample(), [&](Certificate& c) { c.batch.size = misses; });
        expect_failure(verified(other), "plan_differs", "units cannot be");
        other.certificate = forged(sample(), [&](Certificate& c) { c.plan.n = misses; });
        expect_failure(verified(other), "plan_differs", "");
    }
}

TEST(Verify, ReportsEveryFailure) {
    Sample other = copy();
    other.files->erase("run0.droplog");
    (*other.files)["cal.toml"] += "#";
    (*other.files)["wide.toml"] += "#";
    other.certificate += " ";
    const Verification found =
        verified(other, {.today = "2040-01-01", .public_key = hex_of(stranger), .serials = {}});
    for (const char* code : {"not_canonical", "other_key", "expired", "profile_changed",
                             "calibration_changed", "log_missing"})
        expect_failure(found, code, "");
}

TEST(Verify, AsksOfAVoidRunOnlyThatItsLogIsTheListedOne) {
    Sample other = copy();
    other.certificate = forged(sample(), [](Certificate& c) {
        batch::TestedRun extra = c.runs[0];
        extra.counted = false;
        extra.reason = "void: lid open";
        extra.file = "void.droplog";
        extra.run = "another";
        extra.sha256 = droplog::to_hex(droplog::sha256("half a log"));
        c.runs.push_back(extra);
    });
    (*other.files)["void.droplog"] = "half a log";
    EXPECT_EQ(text_of(verified(other)).find("seal"), std::string::npos);
    (*other.files)["void.droplog"] = "other half";
    expect_failure(verified(other), "log_changed", "void.droplog");
}

TEST(Issue, GivesOutNothingThatWouldNotVerify) {
    IssueRequest how;
    how.key = bench_key;
    how.issued = "2026-01-07T08:00:00Z";
    how.valid_until = "2031-01-06";
    batch::Batch open = sample().batch;
    open.decision.reset();
    EXPECT_EQ(issue(open, sample().folder(), how).error().what, "it is not decided");
    how.key = stranger;
    const auto issued = issue(sample().batch, sample().folder(), how);
    ASSERT_TRUE(issued);
    ASSERT_EQ(issued->failures.size(), 2U);
    EXPECT_EQ(issued->failures[0].code, "log_other_key");
    how.bench_keys = {hex_of(bench_key)};
    EXPECT_TRUE(issue(sample().batch, sample().folder(), how)->failures.empty());
    Sample spoilt = copy();
    spoilt.files->erase("run0.droplog");
    EXPECT_EQ(issue(spoilt.batch, spoilt.folder(), how)->failures.at(0).code, "log_missing");
}

TEST(Issue, CertifiesARejectionOnlyWhereAskedTo) {
    const auto units = sample().batch.chosen;
    const auto all_bad = [&](Files& files) {
        files["run0.droplog"] = log_of({units[0], 1, 0.40, bench_key});
        files["run1.droplog"] = log_of({units[1], 2, 0.40, bench_key});
    };
    EXPECT_THROW(static_cast<void>(made(all_bad)), std::runtime_error); // not accepted
}

// One bit of every byte of every file of the set, one after the other.
TEST(Verify, FindsEveryChangedByteOfTheCertificate) {
    Sample other = copy();
    const Means means = remembering();
    const VerifyOptions options{.today = "2026-02-01", .public_key = {}, .serials = {}};
    ASSERT_TRUE(verify(other.certificate, other.folder(), options, means).holds());
    std::string& text = other.certificate;
    for (std::size_t i = 0; i < text.size(); ++i) {
        text[i] = static_cast<char>(text[i] ^ (1 << i % 8));
        EXPECT_FALSE(verify(text, other.folder(), options, means).holds()) << i;
        text[i] = static_cast<char>(text[i] ^ (1 << i % 8));
    }
    EXPECT_GT(text.size(), 2'000U);
}

TEST(Verify, FindsEveryChangedByteOfEveryLogCalibrationAndProfile) {
    Sample other = copy();
    const Means means = remembering();
    const Certificate certificate = *batch::parse_certificate(other.certificate, "certificate");
    const Folder folder = other.folder();
    ASSERT_TRUE(verify_files(certificate, folder, means).empty());
    std::size_t flipped = 0;
    for (auto& [name, text] : *other.files)
        for (std::size_t i = 0; i < text.size(); ++i, ++flipped) {
            text[i] = static_cast<char>(text[i] ^ (1 << i % 8));
            EXPECT_FALSE(verify_files(certificate, folder, means).empty()) << name << " byte " << i;
            text[i] = static_cast<char>(text[i] ^ (1 << i % 8));
        }
    EXPECT_GT(flipped, 8'000U);
    ASSERT_TRUE(verify_files(certificate, folder, means).empty());
}
