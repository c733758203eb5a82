// A batch certificate: what was certified, against what, by which plan, on which evidence; signed.
//
// Assumes: times are RFC 3339, dates YYYY-MM-DD, hashes and keys lower-case hex, shares fractions.
// The signature is over the canonical form (RFC 8785) of all members but `signature` itself; the
// file is the canonical form of all members, with nothing after it.
// Undefined when: an estimate cannot be computed: empty; a limit or AQL does not exist: empty.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/base/result.hpp"
#include "analysis/batch/chain/batch.hpp"
#include "analysis/batch/chain/choice.hpp"
#include "analysis/batch/chain/order.hpp"
#include "analysis/batch/runs/plan.hpp"
#include "analysis/batch/runs/standing.hpp"
#include "analysis/batch/runs/statistics.hpp"
#include "analysis/batch/runs/tested_run.hpp"
#include "analysis/droplog/seal.hpp"
#include "analysis/droplog/settings.hpp"
#include "analysis/sampling/sampling_plan.hpp"
#include "analysis/statistics/basics/estimate.hpp"
#include "analysis/verdict/profile.hpp"

#include <nlohmann/json_fwd.hpp>

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::batch {

// The batch file that all of the certificate follows from.
struct CertifiedJournal {
    std::string file;
    std::string opening; // hash of the first entry: told to a buyer, it binds what follows
    std::string head;    // of the last
    std::int64_t entries = 0;
};

struct CertifiedBatch {
    std::string id;
    std::string opened;
    bool rehearsal = false; // its runs may be simulated, its times stated
    std::int64_t size = 0;
    std::string serials_sha256;             // of all serials in their order, each with its LF
    std::vector<std::string> serial_ranges; // "SU-0001 to SU-0280", or single serials, in order
    Choice choice;
    std::string chosen_at;           // no run before it counts
    std::vector<std::string> chosen; // units to be tested, in the order of their choice
    std::vector<EarlierBatch> history;
    std::optional<EarlierBatch> resubmitted;
    std::optional<std::int64_t> pooled_runs; // so many undecided runs of a unit are judged together
    CertifiedJournal journal;
};

struct CertifiedProfile {
    std::string name;
    std::string sha256; // of the whole file
    std::string text;   // the whole file
    droplog::Mode mode = droplog::Mode::single;
    double confidence = 0.0;
    std::int64_t least_drops = 0;
    std::vector<verdict::Limit> limits; // in the file as words: "miss_index at most 0.05"
};

struct CertifiedPlan {
    PlanKind kind = PlanKind::table;
    std::string level;                 // table only: I, II, …
    std::optional<double> aql_percent; // table only
    std::optional<Severity> severity;  // table only
    std::string severity_reason;
    std::string letter; // table only
    std::int64_t n = 0;
    std::int64_t accept = 0;
    std::int64_t reject = 1;
    bool computed = false; // table: by the rule of the tables, whose cell is not at hand
    std::optional<DoublePlan> samples;
    std::optional<verdict::Limit> measured; // by variables: what is measured against which limit
    std::optional<double> k;                // by variables
    std::vector<RiskPoint> risks;           // operating characteristic at a few shares
    NamedRisks named;                       // producer's and consumer's
};

struct CertifiedDecision {
    LotOutcome outcome = LotOutcome::accepted;
    std::int64_t tested = 0;
    std::int64_t nonconforming = 0;
    std::vector<std::string> nonconforming_units;
    TakenOutTally taken_out;
    std::vector<PooledRuns> pooled;         // units that were judged by several runs together
    std::optional<MeasuredSample> measured; // by variables
    std::string decided;                    // when
};

// What an issuer states of himself and the goods; nothing of it follows from the evidence. Each is
// one line of plain text; empty where it is not stated.
struct ReportFacts {
    std::string number; // of the certificate, by the issuer's own count
    std::string issuer;
    std::string place; // where the tests were made
    std::string client;
    std::string product; // type of the units
    std::string authorised_by;
    std::vector<std::string> deviations; // from the method, additions and exclusions

    [[nodiscard]] bool operator==(const ReportFacts&) const = default;
};

// Runs that were made alike.
struct CertifiedConditions {
    RunConditions conditions;
    std::int64_t runs = 0;
};

// Who signed how much of it.
struct CertifiedKey {
    std::string public_key;
    std::int64_t logs = 0;
    std::int64_t entries = 0; // of the batch file
};

using CertifiedRun = TestedRun;
using CertifiedCalibration = UsedCalibration;

struct Certificate {
    std::string id;
    std::string issued;
    std::string valid_until; // a date, the last day
    std::string program;     // name and version
    ReportFacts report;
    std::vector<Revocation> replaces; // certificates of this batch that were taken back before
    CertifiedBatch batch;
    CertifiedProfile profile;
    CertifiedPlan plan;
    CertifiedDecision decision;
    BatchStatistics statistics;
    std::vector<CertifiedRun> runs;
    std::vector<CertifiedCalibration> calibrations;
    std::vector<CertifiedConditions> conditions;
    std::vector<CertifiedKey> keys;
    std::vector<MissingRuns> missing_runs;
    std::string tested_from;           // the first run's start
    std::string tested_to;             // the last run's end
    std::vector<std::string> remarks;  // what a reader must know first, as sentences
    std::vector<std::string> not_said; // what the certificate does not say
    std::vector<std::string> cautions;
    std::string pages_sha256; // of the printed pages as bytes; empty where none were printed
    std::string public_key;   // empty until signed
    std::string signature;    // empty until signed
};

// All members; a certificate that says the same has the same.
[[nodiscard]] nlohmann::json json_of(const Certificate& certificate);

// Fills in the key and the signature.
[[nodiscard]] Result<Certificate> signed_with(const droplog::PrivateKey& key,
                                              Certificate certificate);

// The file: canonical, all members.
[[nodiscard]] Result<std::string> to_text(const Certificate& certificate);

// Refuses what is no JSON or no certificate of this version; `where` is for messages. Neither form
// nor signature is checked here.
[[nodiscard]] Result<Certificate> parse_certificate(std::string_view text,
                                                    const std::string& where);

// Whether `text` is in the canonical form, byte for byte.
[[nodiscard]] bool is_canonical(std::string_view text);

// Whether the signature in `text` fits all other members and the public key that stands in it.
[[nodiscard]] bool signature_holds(std::string_view text);

} // namespace dropledger::batch
