// The keys of a table of causes, as --help and errors list them.
#pragma once

#include <string>

namespace dropledger::cli {

template <class Rows> [[nodiscard]] std::string listed_keys(const Rows& rows) {
    std::string list;
    for (const auto& row : rows) {
        list += list.empty() ? "" : ", ";
        list += row.key;
    }
    return list;
}

} // namespace dropledger::cli
