// Where the station's files are: its whole state.
#pragma once

#include <filesystem>
#include <string>

namespace dropledger::station {

constexpr const char* bench_key = "bench.key"; // signs logs and batches, where it is there

struct Place {
    std::string folder;
    std::string book;           // made by the first run that is entered
    bool book_is_named = false; // by whoever started the station: goes over what settings name

    [[nodiscard]] bool has_book() const { return std::filesystem::exists(book); }
};

} // namespace dropledger::station
