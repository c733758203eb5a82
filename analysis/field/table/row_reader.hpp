// One row of a table on its way to a drop: the first thing wrong with it is its reason.
#pragma once

#include "analysis/base/readers/csv_reader.hpp"
#include "analysis/field/table/answers.hpp"
#include "analysis/field/table/drop.hpp"
#include "analysis/field/table/facts.hpp"
#include "analysis/field/table/header.hpp"

#include <string>
#include <string_view>

namespace dropledger::field {

class RowReader {
public:
    RowReader(const Header& header, const Mapping& mapping, const Answers& answers)
        : header_(&header), mapping_(&mapping), answers_(&answers), times_{mapping.date_order} {}

    void begin(const CsvRecord& record);
    // All but pass and row, which have names; counts what it meets.
    [[nodiscard]] FieldDrop drop(Facts& facts);

    [[nodiscard]] const std::string& reason() const { return reason_; }
    // Trimmed; empty where the table has no such column.
    [[nodiscard]] std::string_view text(Column column) const;
    // What needs a text: an empty one is a reason.
    [[nodiscard]] std::string_view name(Column column);

private:
    [[nodiscard]] std::optional<double> parse(std::string_view shown) const;
    double number(Column column, double least, double most);
    std::int64_t whole(Column column, std::int64_t least, std::int64_t most);
    double fail(Column column, std::string_view why);
    [[nodiscard]] std::uint32_t seen(Facts& facts);
    [[nodiscard]] bool alert(Facts& facts);
    void place(FieldDrop& drop);
    void time(FieldDrop& drop, Facts& facts);
    [[nodiscard]] double utc_of(double local_s, Facts& facts) const;

    const Header* header_;
    const Mapping* mapping_;
    const Answers* answers_;
    TimeRules times_;
    double last_time_s_ = 0.0;
    const CsvRecord* record_ = nullptr;
    std::string reason_;
};

} // namespace dropledger::field
