// Where the station's files are: its whole state.
#pragma once

#include <optional>
#include <string>

namespace dropledger::station {

constexpr const char* bench_key = "bench.key"; // signs logs and batches, where it is there

struct Place {
    std::string folder;
    std::optional<std::string> book;
};

} // namespace dropledger::station
