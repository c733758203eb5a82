#include "bench/commands/field/field_input.hpp"

#include "analysis/field/input/droplogs.hpp"
#include "bench/commands/inputs/field_table.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace dropledger::cli {

namespace {

Result<field::Means> meaning(const char* option, const std::optional<std::string>& said,
                             std::string_view silent) {
    if (!said)
        return field::Means::ask;
    if (*said == silent)
        return field::Means::silent;
    if (*said == "unknown")
        return field::Means::unknown;
    return usage(option, fmt::format("'{}' is no answer", *said),
                 fmt::format("{} or unknown", silent));
}

Status take_accepted(const std::vector<std::string>& keys, field::Answers& answers) {
    constexpr std::array<std::string_view, 8> known{
        "seen-above-target", "duplicates", "alerts",        "times",
        "swapped",           "spacing",    "coarse-places", "places"};
    for (const std::string& key : keys) {
        if (std::find(known.begin(), known.end(), key) == known.end())
            return usage("--accept", fmt::format("'{}' is nothing that is asked", key),
                         fmt::format("{}", fmt::join(known, ", ")));
        answers.accepted.insert(key);
    }
    return Done{};
}

Result<field::Answers> answers_of(const FieldInput& input) {
    field::Answers answers;
    const auto blank = meaning("--blank-means", input.blank_means, "none");
    if (!blank)
        return blank.error();
    const auto lacking = meaning("--lacking-drops", input.lacking_drops, "silent");
    if (!lacking)
        return lacking.error();
    answers.blank_seen = *blank;
    answers.lacking_drops = *lacking;
    if (input.drop_step < 1 || input.drop_step > 1000)
        return usage("--drop-step", fmt::format("{} is no step", input.drop_step),
                     "give by how much the drop number grows, say 2");
    answers.drop_step = input.drop_step;
    if (input.spacing_mm && !(*input.spacing_mm > 0.0 && *input.spacing_mm < 1e5))
        return usage("--spacing-mm", fmt::format("{} mm cannot be", *input.spacing_mm),
                     "give the distance of two drops, say 180");
    if (input.spacing_mm)
        answers.spacing_m = *input.spacing_mm / 1000.0;
    if (const Status taken = take_accepted(input.accept, answers); !taken)
        return taken.error();
    return answers;
}

Result<field::Field> read_tables(const FieldInput& input,
                                 const std::vector<field::NamedLog>& files) {
    if (input.row_spacing_mm || input.same_direction)
        return usage(input.row_spacing_mm ? "--row-spacing-mm" : "--same-direction",
                     "a table says itself where its drops are", "leave it out; it is for droplogs");
    const auto answers = answers_of(input);
    if (!answers)
        return answers.error();
    std::vector<NamedTable> tables;
    tables.reserve(files.size());
    for (const field::NamedLog& file : files)
        tables.push_back({file.file, file.open});
    return read_field_tables(tables, {input.mapping, input.time_zone}, *answers);
}

Result<field::Field> read_logs(const FieldInput& input, const std::vector<field::NamedLog>& logs) {
    constexpr double greatest_mm = 20'000.0;
    if (input.mapping)
        return usage("--mapping", "droplogs need no mapping", "leave it out; it is for tables");
    if (input.time_zone)
        return usage("--time-zone", "droplogs state their zone", "leave it out; it is for tables");
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
    for (std::size_t i = 0; i < input.files.size(); ++i) {
        const std::string& file = input.files[i];
        if (std::find(input.files.begin(), input.files.begin() + static_cast<std::ptrdiff_t>(i),
                      file) != input.files.begin() + static_cast<std::ptrdiff_t>(i))
            return usage("FILE", fmt::format("{} is named twice", file), "name each once");
        files.push_back({file, input.open(file)});
        const auto is_log = field::is_droplog(files.back().open);
        if (!is_log)
            return is_log.error();
        logs += *is_log ? 1U : 0U;
    }
    if (logs == files.size())
        return read_logs(input, files);
    if (logs > 0)
        return usage("FILE", "a table and droplogs at once", "give tables only, or droplogs only");
    return read_tables(input, files);
}

Result<field::Findings> findings_of(const FieldInput& input, const field::Field& field) {
    if (!input.found)
        return field::Findings{};
    const auto source =
        files::limited(files::open_file(*input.found), *input.found, files::most_table_bytes)();
    if (!source)
        return source.error();
    return field::read_findings(**source, *input.found, field);
}

} // namespace dropledger::cli
