#include "bench/commands/inputs/field_table.hpp"

#include "analysis/field/input/mapping.hpp"
#include "bench/io/file_source.hpp"

namespace dropledger::cli {

namespace {

constexpr std::size_t most_mapping_bytes = 1'000'000;
constexpr std::uint64_t most_field_bytes = std::uint64_t{1} << 30U;

Result<field::Mapping> read_mapping(const std::optional<std::string>& file) {
    if (!file)
        return field::Mapping{};
    const auto text = files::whole_file(*file, most_mapping_bytes);
    if (!text)
        return text.error();
    return field::parse_mapping(*text, *file);
}

} // namespace

Result<field::Field> read_field_table(const OpenBytes& open, const std::string& file,
                                      const std::optional<std::string>& mapping) {
    const auto names = read_mapping(mapping);
    if (!names)
        return names.error();
    const auto source = files::limited(open, file, most_field_bytes)();
    if (!source)
        return source.error();
    return field::read_field(**source, file, *names);
}

} // namespace dropledger::cli
