#include "analysis/sampling/published_tables.hpp"

#include "analysis/base/result.hpp"

#include "sampling_tables.hpp"

#include <fmt/format.h>

namespace dropledger::batch {

std::string_view published_table(std::string_view name) {
    for (const tables::Text& table : tables::texts())
        if (table.name == name)
            return table.content;
    throw BrokenInvariant(fmt::format("no published table '{}'", name));
}

} // namespace dropledger::batch
