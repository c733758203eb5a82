// The seals of a log and its signature, block by block in memory.
#pragma once

#include "analysis/droplog/integrity.hpp"

#include <cstdint>
#include <string>
#include <string_view>

namespace reference {

struct Line;

[[nodiscard]] bool signature_holds(const std::string& key_hex, const std::string& signature_hex,
                                   const std::string& seal_hex);

class Chain {
public:
    void take(const Line& line, std::string_view with_lf);
    void close(); // the last line was @close
    [[nodiscard]] const dropledger::droplog::SealTally& seals() const { return seals_; }
    [[nodiscard]] std::uint64_t in_block() const { return in_block_; } // lines
    [[nodiscard]] const std::string& last() const { return last_; }    // hex; empty where none
    [[nodiscard]] std::uint64_t last_at() const { return last_at_; }   // its line

private:
    void bad();

    dropledger::droplog::SealTally seals_;
    std::uint64_t number_ = 0;
    std::string link_ = std::string(32, '\0');
    std::string last_;
    std::uint64_t last_at_ = 0;
    std::string block_;
    std::uint64_t in_block_ = 0;
    bool damage_in_block_ = false;
    std::uint64_t block_start_ = 1;
};

} // namespace reference
