// A small CSV table whose columns are asked for by name: any order, further columns are let be.
//
// Assumes: a header line. Empty lines and lines that begin with # are skipped; how fields are told
// apart is the reader's (csv_reader.hpp).
// Undefined when: a column is missing or twice, a line has more or fewer fields than the header, a
// field asked for is empty, a number is none: refused with file:line.
#pragma once

#include "analysis/base/readers/csv_reader.hpp"
#include "analysis/base/result.hpp"

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger {

struct CsvRow {
    std::size_t line = 0;
    // In the order asked for; empty where an optional column is not there
    std::vector<std::string> fields;
};

struct CsvColumns {
    std::vector<std::string> needed;
    std::vector<std::string> optional;
};

class CsvTable {
public:
    // `file` is for messages.
    [[nodiscard]] static Result<CsvTable> read(std::string_view text, const std::string& file,
                                               const CsvColumns& columns);

    [[nodiscard]] const std::vector<CsvRow>& rows() const { return rows_; }
    [[nodiscard]] bool has(std::size_t column) const { return where_[column] >= 0; }
    [[nodiscard]] Result<double> number(const CsvRow& row, std::size_t column) const;
    [[nodiscard]] Error problem(const CsvRow& row, std::string what, std::string remedy) const;

private:
    [[nodiscard]] Status take(const CsvRecord& record, const CsvColumns& columns);
    [[nodiscard]] Status take_header(const std::vector<std::string_view>& names,
                                     const CsvColumns& columns);
    [[nodiscard]] Status take_row(const std::vector<std::string_view>& fields);
    [[nodiscard]] Error at_line(std::string what, std::string remedy) const;

    std::string file_;
    std::size_t line_ = 1;
    char separator_ = only_column;
    std::size_t width_ = 0;
    std::vector<std::string> names_;
    std::vector<int> where_; // column of the file, -1: not there
    std::vector<CsvRow> rows_;
};

// "the file has: a, b, c"
[[nodiscard]] std::string columns_found(const std::vector<std::string_view>& names);

} // namespace dropledger
