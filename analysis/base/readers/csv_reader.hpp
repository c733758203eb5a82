// Separated text, record by record, in bounded memory: RFC 4180 quoting, lines ended by LF or CR
// LF, a byte order mark skipped, blank lines skipped.
//
// The separator is told from the first record: the most frequent of `,` `;` and tabulator outside
// quotes, else there is only one column.
// Assumes: a record, quoted line breaks included, is at most `longest_record` bytes. A quote that
// is not closed within it is taken as damage of its first line alone: reading goes on with the next
// line.
#pragma once

#include "analysis/base/readers/byte_source.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger {

struct CsvRecord {
    std::uint64_t line = 0;               // of its first byte, from 1
    std::vector<std::string_view> fields; // valid until the next record is asked for
    bool damaged = false; // a quote that is not closed, or a line too long: no fields
};

inline constexpr char only_column = '\0'; // as separator: there is none

// A number with a decimal point; where the separator is no comma, with a decimal comma too. In a
// table without semicolons "1,234" may mean thousands and is none.
[[nodiscard]] std::optional<double> csv_number(std::string_view text, char separator);

class CsvReader {
public:
    static constexpr std::size_t longest_record = 65536;

    enum class Comments : std::uint8_t { none, lines }; // lines that begin with #

    explicit CsvReader(ByteSource& source, Comments comments = Comments::none,
                       std::optional<char> separator = std::nullopt)
        : source_(&source), comments_(comments), separator_(separator) {}

    // False at the end. Fails where the source does.
    [[nodiscard]] Result<bool> next(CsvRecord& record);

    [[nodiscard]] char separator() const { return separator_.value_or(only_column); }

private:
    struct Line {
        std::string_view text; // without its end
        bool too_long = false; // its beginning is gone
    };

    [[nodiscard]] Result<bool> fill();
    [[nodiscard]] Result<std::optional<Line>> next_line();
    [[nodiscard]] Line taken(std::size_t end, std::size_t next);
    [[nodiscard]] static bool is_too_long(const Line& line);
    [[nodiscard]] bool is_skipped(std::string_view line) const;
    [[nodiscard]] Result<bool> fields_of(std::string_view line, CsvRecord& record);
    [[nodiscard]] Status quoted_record(std::string_view line, CsvRecord& record);
    void give_back(const std::string& lines, std::uint64_t first, CsvRecord& record);
    void split_quoted(std::string_view text, CsvRecord& record);

    ByteSource* source_;
    Comments comments_;
    std::optional<char> separator_;
    std::string buffer_;
    std::size_t at_ = 0;
    std::uint64_t line_ = 0;
    bool started_ = false;
    bool ended_ = false;
    bool too_long_ = false;
    std::vector<std::string> unquoted_;
};

} // namespace dropledger
