// Second stage of reading: every @seal is compared with the lines before it.
//
// Assumes: chunks come in order. After a seal that does not hold, the chain goes on from what it
// states, so that one bad block does not condemn the rest.
// A closed log has a seal before its @close: where lines stand between the two the chain is broken,
// at the @close. A closed log with no seal at all is only unsealed, unless a damaged line may have
// been the seal.
#pragma once

#include "analysis/droplog/chunks.hpp"
#include "analysis/droplog/integrity.hpp"
#include "analysis/droplog/seal.hpp"

namespace dropledger::droplog {

class SealCheck {
public:
    void take(const Chunk& chunk);
    // Of all chunks taken so far, as if the log ended there.
    [[nodiscard]] SealTally tally() const;
    [[nodiscard]] const Hash& last_stated() const { return last_stated_; }

private:
    void check_seal(std::string_view line);
    [[nodiscard]] std::uint64_t lines_before_close() const;

    SealTally tally_;
    Digest digest_ = begun_with(Hash{});
    Hash last_stated_{};
    std::uint64_t line_ = 0;
    std::uint64_t block_start_ = 1;
    std::uint64_t block_lines_ = 0; // since the last seal
    bool block_has_damage_ = false;
    bool ends_with_close_ = false;

    [[nodiscard]] static Digest begun_with(const Hash& previous);
};

} // namespace dropledger::droplog
