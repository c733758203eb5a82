// A batch under test: what it is, by which plan it is judged, which runs were made, what they
// decide.
//
// Rules: only units of the random choice are tested. Every counted run counts: a unit is
// nonconforming where any of them is outside, conforming where none is and one is within; with
// undecided runs only it needs another. A unit that has such a decisive run is tested again only
// with a reason. A run that was the bench's fault is made void with a reason: it stays listed.
// Whatever is done is a signed entry of the journal, and the same functions make a batch out of its
// journal again: there is one list of rules.
// Assumes: callers hand in keys, times and seeds; nothing here reads a clock.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/batch/chain/choice.hpp"
#include "analysis/batch/chain/journal.hpp"
#include "analysis/batch/chain/revocation.hpp"
#include "analysis/batch/runs/plan.hpp"
#include "analysis/batch/runs/standing.hpp"
#include "analysis/batch/runs/tested_run.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::batch {

struct BatchProfile {
    std::string name;
    std::string sha256;
    std::string text; // the whole file: every run is judged by it
};

struct BatchDecision {
    LotOutcome outcome = LotOutcome::accepted;
    std::int64_t nonconforming = 0;
    std::string decided; // when
};

// A certificate of the batch that its issuer takes back.
struct Revocation {
    std::string certificate; // its id
    std::string sha256;      // of its signed JSON
    RevocationCause cause = RevocationCause::wrong_report;
    std::string text;
    std::string at;
};

struct Batch {
    std::string id;
    std::string opened;
    bool rehearsal = false;           // simulated runs are taken, and times may be stated
    std::vector<std::string> serials; // of all units; their number is the batch's size
    BatchProfile profile;
    BatchPlan plan;
    Choice choice;
    std::string chosen_at; // when the units were chosen; empty while the buyer's part is waited for
    std::vector<std::string> chosen;
    std::vector<EarlierBatch> history;       // that the severity rests on
    std::optional<EarlierBatch> resubmitted; // the same units, not accepted before
    std::vector<TestedRun> runs;
    std::vector<UsedCalibration> calibrations;
    std::optional<std::int64_t> pooled_runs; // so many undecided runs of a unit are pooled
    std::optional<BatchDecision> decision;
    std::vector<Revocation> revocations;
    Journal journal; // all of the above follows from it

    [[nodiscard]] std::int64_t size() const { return static_cast<std::int64_t>(serials.size()); }
    [[nodiscard]] Tested tested() const { return {chosen, runs, pooled_runs}; }
};

struct OpenRequest {
    std::string id;
    bool rehearsal = false;
    std::vector<std::string> serials;
    BatchProfile profile;
    BatchPlan plan;
    Choice choice; // a seed, or a commitment
    std::vector<EarlierBatch> history;
    std::optional<EarlierBatch> resubmitted;
    std::optional<std::int64_t> pooled_runs{};
};
// Chooses the units, unless the buyer's part is waited for. Refused: a serial twice or one that
// can't be told from another, or not as many as the plan's lot.
[[nodiscard]] Result<Batch> open_batch(OpenRequest request, const Signer& signer);

// The buyer has spoken: the bench's part is told, and the units follow from both.
struct BuyersPart {
    std::string bench_part;
    std::string buyer_text;
};
[[nodiscard]] Status choose_with(Batch& batch, const BuyersPart& both, const Signer& signer);

// All of it, or nothing. `reason` (may be empty) is of re-tests. Known calibrations are kept; the
// same id with another content is refused.
struct Addition {
    std::vector<TestedRun> runs;
    std::vector<UsedCalibration> calibrations;
    std::string reason;
};
[[nodiscard]] Status add_runs(Batch& batch, Addition addition, const Signer& signer);

// Takes a run (all units of its log, or one) out of the count.
struct VoidRequest {
    std::string run; // its id, or the name of its log
    std::optional<std::string> unit;
    VoidCause cause = VoidCause::gate_fault;
    std::string text;
};
[[nodiscard]] Status make_void(Batch& batch, const VoidRequest& request, const Signer& signer);

// Of a decided batch. What was wrong in a report can be mended by a new certificate; where evidence
// was wrong or a key was lost, none can follow.
struct RevokeRequest {
    std::string certificate;
    std::string sha256;
    RevocationCause cause = RevocationCause::wrong_report;
    std::string text;
};
[[nodiscard]] Status revoke(Batch& batch, const RevokeRequest& request, const Signer& signer);

// Nothing where the plan cannot decide yet, or it is decided.
[[nodiscard]] Status decide(Batch& batch, const Signer& signer);

} // namespace dropledger::batch
