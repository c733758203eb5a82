// Separated text, record by record, in bounded memory: RFC 4180 quoting, lines ended by LF or CR
// LF, a byte order mark skipped.
//
// Assumes: a record, quoted line breaks included, is at most `longest_record` bytes. A quote that
// is not closed within it is taken as damage of its first line alone: reading goes on with the next
// line.
#pragma once

#include "analysis/base/byte_source.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::field {

struct CsvRecord {
    std::uint64_t line = 0;               // of its first byte, from 1
    std::vector<std::string_view> fields; // valid until the next record is asked for
    bool damaged = false; // a quote that is not closed, or a line too long: no fields
};

class CsvRecords {
public:
    static constexpr std::size_t longest_record = 65536;

    CsvRecords(ByteSource& source, char separator) : source_(&source), separator_(separator) {}

    // False at the end. Blank lines are skipped. Fails where the source does.
    [[nodiscard]] Result<bool> next(CsvRecord& record);

private:
    [[nodiscard]] Result<bool> fill();
    [[nodiscard]] Result<std::optional<std::string_view>> next_line();
    [[nodiscard]] Result<bool> quoted_record(std::string_view line, CsvRecord& record);
    [[nodiscard]] bool split_quoted(std::string_view text, CsvRecord& record);

    ByteSource* source_;
    char separator_;
    std::string buffer_;
    std::size_t at_ = 0;
    std::uint64_t line_ = 0;
    bool started_ = false;
    bool ended_ = false;
    std::vector<std::string> unquoted_;
};

} // namespace dropledger::field
