// Published values out of fixtures/published: lines of `#` are the source, the first other line the
// column.
#pragma once

#include "analysis/base/text.hpp"

#include <fstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace dropledger::testing {

inline std::vector<double> published_column(const std::string& key) {
    std::ifstream file(std::string(DROPLEDGER_FIXTURES) + "/published/" + key + ".csv");
    if (!file)
        throw std::runtime_error("no fixture " + key);
    std::vector<double> values;
    bool header_seen = false;
    for (std::string line; std::getline(file, line);) {
        if (line.empty() || line.front() == '#')
            continue;
        if (header_seen)
            values.push_back(parse_double(trim(line)).value());
        header_seen = true;
    }
    return values;
}

} // namespace dropledger::testing
