#include "analysis/droplog/seal_check.hpp"

#include "analysis/base/text.hpp"

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
        if (line.record.name == LineName::host_seal) {
            digest_.add(bytes.substr(hashed, line.offset - hashed));
            check_seal(chunk.text(line));
            hashed = line.offset + line.size + 1;
        } else if (line.record.name == LineName::host_close) {
            if (tally_.count > 0 && tally_.unsealed_lines > 0)
                found_bad();
        } else {
            ++tally_.unsealed_lines;
        }
    }
    digest_.add(bytes.substr(hashed));
}

void SealCheck::check_seal(std::string_view line) {
    ++tally_.count;
    const auto fields = fields_of(*checked_body(line));
    const auto stated_lines = parse_uint(fields[1]);
    const auto stated = from_hex<32>(fields[2]);
    const Hash found = digest_.finish();
    if (stated_lines != tally_.unsealed_lines || stated != found)
        found_bad();
    last_stated_ = stated.value_or(found);
    digest_.add(bytes_of(last_stated_));
    tally_.unsealed_lines = 0;
    block_start_ = line_ + 1;
}

void SealCheck::found_bad() {
    tally_.intact = false;
    if (tally_.first_bad_line)
        return;
    tally_.first_bad_line = line_;
    tally_.first_bad_block_start = block_start_;
}

} // namespace dropledger::droplog
