#include "bench/commands/inputs/field_table.hpp"

#include "analysis/field/table/mapping.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/time_zones.hpp"

namespace dropledger::cli {

namespace {

constexpr std::size_t most_mapping_bytes = 1'000'000;
constexpr std::uint64_t most_field_bytes = std::uint64_t{1} << 30U;

Result<field::Mapping> mapping_of(const std::optional<std::string>& file) {
    if (!file)
        return field::Mapping{};
    const auto text = files::whole_file(*file, most_mapping_bytes);
    if (!text)
        return text.error();
    return field::parse_mapping(*text, *file);
}

Result<field::Mapping> read_mapping(const TableWriting& writing) {
    auto mapping = mapping_of(writing.mapping);
    return mapping ? with_zone(*std::move(mapping), writing.time_zone) : mapping;
}

} // namespace

Result<field::Mapping> with_zone(field::Mapping mapping, const std::optional<std::string>& said) {
    const auto& name = said ? said : mapping.zone_name;
    if (!name)
        return mapping;
    auto zone = files::named_zone(*name);
    if (!zone)
        return zone.error();
    mapping.zone = *std::move(zone);
    return mapping;
}

Result<field::Field> read_field_tables(const std::vector<NamedTable>& tables,
                                       const TableWriting& writing, const field::Answers& answers) {
    const auto names = read_mapping(writing);
    if (!names)
        return names.error();
    std::vector<std::unique_ptr<ByteSource>> sources;
    std::vector<field::Table> all;
    for (const NamedTable& table : tables) {
        auto source = files::limited(table.open, table.file, most_field_bytes)();
        if (!source)
            return source.error();
        sources.push_back(*std::move(source));
        all.push_back({sources.back().get(), table.file});
    }
    return field::read_field(all, *names, answers);
}

Result<field::Field> read_field_table(const OpenBytes& open, const std::string& file,
                                      const std::optional<std::string>& mapping) {
    return read_field_tables({{file, open}}, {mapping, std::nullopt});
}

} // namespace dropledger::cli
