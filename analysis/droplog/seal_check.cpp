#include "analysis/droplog/seal_check.hpp"

#include <fmt/format.h>

namespace dropledger::droplog {

Digest SealCheck::begun_with(const Hash& previous) {
    Digest digest;
    digest.add(bytes_of(previous));
    return digest;
}

void SealCheck::take(const Chunk& chunk) {
    const std::string_view bytes{chunk.bytes.data(), chunk.size};
    std::size_t hashed = 0;
    for (const DecodedLine& line : chunk.lines) {
        ++line_;
        ends_with_close_ = line.record.name == LineName::host_close;
        if (line.record.name == LineName::host_seal) {
            digest_.add(bytes.substr(hashed, line.offset - hashed));
            check_seal(chunk.text(line));
            hashed = line.offset + line.size + 1;
        } else {
            ++block_lines_;
            block_has_damage_ |= line.record.name == LineName::damaged;
        }
    }
    digest_.add(bytes.substr(hashed));
}

void SealCheck::check_seal(std::string_view line) {
    const auto fields = fields_of(*checked_body(line));
    const Hash found = digest_.finish();
    // compared as text: the format knows one way to write each
    const bool holds =
        fields[1] == fmt::to_string(block_lines_) && fields[2] == to_hex(bytes_of(found));
    ++tally_.count;
    if (!holds && tally_.intact) {
        tally_.intact = false;
        tally_.first_bad_line = line_;
        tally_.first_bad_block_start = block_start_;
    }
    last_stated_ = from_hex<32>(fields[2]).value_or(found);
    digest_.add(bytes_of(last_stated_));
    block_lines_ = 0;
    block_has_damage_ = false;
    block_start_ = line_ + 1;
}

std::uint64_t SealCheck::lines_before_close() const {
    return block_lines_ - (ends_with_close_ ? 1 : 0);
}

SealTally SealCheck::tally() const {
    SealTally tally = tally_;
    tally.unsealed_lines = lines_before_close();
    const bool seal_is_missing =
        ends_with_close_ && tally.unsealed_lines > 0 && (tally.count > 0 || block_has_damage_);
    if (seal_is_missing && tally.intact) {
        tally.intact = false;
        tally.first_bad_line = line_;
        tally.first_bad_block_start = block_start_;
    }
    return tally;
}

} // namespace dropledger::droplog
