// Where the station's files are: its whole state.
#pragma once

#include <optional>
#include <string>

namespace dropledger::station {

struct Place {
    std::string folder;
    std::optional<std::string> book;
};

} // namespace dropledger::station
