#include "bench/commands/field/field_input.hpp"

#include "analysis/field/input/droplogs.hpp"
#include "bench/commands/inputs/field_table.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"

#include <fmt/format.h>

namespace dropledger::cli {

namespace {

Result<field::Field> read_table(const FieldInput& input, const field::NamedLog& table) {
    if (input.row_spacing_mm || input.same_direction)
        return usage(input.row_spacing_mm ? "--row-spacing-mm" : "--same-direction",
                     "a table says itself where its drops are", "leave it out; it is for droplogs");
    return read_field_table(table.open, table.file, input.mapping);
}

Result<field::Field> read_logs(const FieldInput& input, const std::vector<field::NamedLog>& logs) {
    constexpr double greatest_mm = 20'000.0;
    if (input.mapping)
        return usage("--mapping", "droplogs need no mapping", "leave it out; it is for tables");
    field::DroplogOptions options{.row_spacing_mm = 500.0, .same_direction = input.same_direction};
    if (input.row_spacing_mm)
        options.row_spacing_mm = *input.row_spacing_mm;
    if (!(options.row_spacing_mm > 0.0 && options.row_spacing_mm <= greatest_mm))
        return usage("--row-spacing-mm", fmt::format("{} mm cannot be", options.row_spacing_mm),
                     "give the distance of two rows, say 500");
    return field::read_droplogs(logs, options);
}

} // namespace

Result<field::Field> read_input(const FieldInput& input) {
    std::vector<field::NamedLog> files;
    std::size_t logs = 0;
    for (const std::string& file : input.files) {
        files.push_back({file, files::open_file(file)});
        const auto is_log = field::is_droplog(files.back().open);
        if (!is_log)
            return is_log.error();
        logs += *is_log ? 1U : 0U;
    }
    if (logs == files.size())
        return read_logs(input, files);
    if (logs > 0 || files.size() > 1)
        return usage("FILE", logs > 0 ? "a table and droplogs at once" : "several tables",
                     "give one table, or droplogs only");
    return read_table(input, files.front());
}

} // namespace dropledger::cli
