// Second stage of reading: every @seal is compared with the lines before it.
//
// Assumes: chunks come in order. After a seal that does not hold, the chain goes on from what it states, so
// that one bad block does not condemn the rest.
#pragma once

#include "analysis/droplog/chunks.hpp"
#include "analysis/droplog/integrity.hpp"
#include "analysis/droplog/seal.hpp"

namespace dropledger::droplog {

class SealCheck {
public:
    void take(const Chunk& chunk);
    [[nodiscard]] const SealTally& tally() const { return tally_; }
    [[nodiscard]] const Hash& last_stated() const { return last_stated_; }

private:
    void check_seal(std::string_view line);
    void found_bad();

    SealTally tally_;
    Digest digest_ = begun_with(Hash{});
    Hash last_stated_{};
    std::uint64_t line_ = 0;
    std::uint64_t block_start_ = 1;

    [[nodiscard]] static Digest begun_with(const Hash& previous);
};

} // namespace dropledger::droplog
