// A small batch with all its evidence, in memory: four units, two tested, one record, one profile;
// invented.
#pragma once

#include "analysis/batch/chain/batch.hpp"
#include "bench/evidence/verify/issue.hpp"

#include <functional>
#include <map>
#include <memory>
#include <string>

namespace dropledger::evidence {

using Files = std::map<std::string, std::string>;

inline constexpr droplog::PrivateKey bench_key{1, 2, 3, 4};
inline constexpr droplog::PrivateKey stranger{9, 9, 9};

[[nodiscard]] std::string hex_of(const droplog::PrivateKey& key); // its public key

[[nodiscard]] Folder folder_of(std::shared_ptr<Files> files);

struct LogSpec {
    std::string unit;
    std::uint64_t seed = 1;
    double fill = 0.99; // share of cells that hold a seed
    std::optional<droplog::PrivateKey> key = bench_key;
    std::string started = "2026-01-05T08:00:00Z";
};
[[nodiscard]] std::string log_of(const LogSpec& spec);

struct Sample {
    std::shared_ptr<Files> files = std::make_shared<Files>();
    batch::Batch batch; // decided: accepted
    std::string certificate;

    [[nodiscard]] Folder folder() const { return folder_of(files); }
};

[[nodiscard]] IssueRequest how_issued();
[[nodiscard]] std::string started_of(std::size_t run); // 0 or 1

// `change` may spoil files before they are added to the batch.
[[nodiscard]] Sample made(const std::function<void(Files&)>& change = {});
// The certificate with something changed and signed anew: what a liar with a key would issue.
[[nodiscard]] std::string forged(const Sample& sample,
                                 const std::function<void(batch::Certificate&)>& change,
                                 const droplog::PrivateKey& key = bench_key);

// Audits each log once, however often it is verified.
[[nodiscard]] Means remembering();

} // namespace dropledger::evidence
