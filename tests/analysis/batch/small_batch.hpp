// Batches of invented units and runs, for tests; every run keeps the order of events.
#pragma once

#include "analysis/base/dates.hpp"
#include "analysis/batch/chain/batch.hpp"
#include "analysis/batch/runs/statistics.hpp"
#include "analysis/droplog/seal.hpp"

#include <gtest/gtest.h>

#include <optional>
#include <string>
#include <vector>

namespace dropledger::batch {

inline std::vector<std::string> serials(int count) {
    std::vector<std::string> all;
    for (int i = 1; i <= count; ++i)
        all.push_back("U-" + std::to_string(i));
    return all;
}

inline constexpr droplog::PrivateKey key{1, 2, 3};

inline const std::string public_key = droplog::to_hex(droplog::public_key_of(key));

inline Signer at(const std::string& time) {
    return {key, time};
}

inline Batch opened(int lot, const BatchPlan& plan, std::uint64_t seed = 1) {
    OpenRequest request;
    request.id = "B-1";
    request.serials = serials(lot);
    request.profile = {"p", droplog::to_hex(droplog::sha256("text")), "text"};
    request.plan = plan;
    request.choice.seed = seed;
    return *open_batch(std::move(request), at("2026-01-04T08:00:00Z"));
}

// Three of six units, at most one nonconforming.
inline Batch small() {
    return opened(6, *own_plan(6, 3, 1));
}

// Each an hour after the one before it in the batch.
inline TestedRun run(const Batch& batch, std::size_t unit, const std::string& name,
                     const std::string& outcome) {
    const auto begin = static_cast<std::int64_t>(parse_rfc3339("2026-01-05T08:00:00Z", 0).value()) +
                       3600 * static_cast<std::int64_t>(batch.runs.size());
    TestedRun run;
    run.unit = batch.chosen.at(unit);
    run.run = "run-" + name;
    run.file = name + ".droplog";
    run.sha256 = "hash-" + name;
    run.signed_by = public_key;
    run.started = rfc3339(begin);
    run.ended = rfc3339(begin + 300);
    run.outcome = value_named(verdict::outcome_names, outcome).value();
    run.drops = 100;
    run.misses = outcome == "outside" ? 30 : 2;
    return run;
}

inline const std::string later = "2026-02-01T08:00:00Z";

inline Status added(Batch& batch, std::vector<TestedRun> runs, const std::string& reason = "") {
    return add_runs(batch, {std::move(runs), {}, reason}, at(later));
}

inline void add(Batch& batch, const TestedRun& run, const std::string& reason = "") {
    const Status done = added(batch, {run}, reason);
    EXPECT_TRUE(done) << done.error().message();
}

inline std::string why_not(Batch& batch, const TestedRun& run, const std::string& reason = "") {
    const std::size_t before = batch.runs.size();
    const std::string head = batch.journal.head();
    const Status done = added(batch, {run}, reason);
    EXPECT_EQ(batch.runs.size(), before);
    EXPECT_EQ(batch.journal.head(), head);
    return done ? "" : done.error().message();
}

inline Status voided(Batch& batch, const std::string& run, const std::string& text,
                     std::optional<std::string> unit = std::nullopt) {
    return make_void(batch, {run, std::move(unit), VoidCause::gate_fault, text}, at(later));
}

} // namespace dropledger::batch
