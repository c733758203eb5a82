// The station: the whole job on pages, over the same calls as the command line.
//
// Assumes: one station a folder. Its whole state is that folder's logs and the book: what is in
// memory is the run and the work that are on, and a kill at any instant loses nothing else.
#pragma once

#include "analysis/base/result.hpp"

#include <cstdint>
#include <functional>
#include <optional>
#include <string>

namespace dropledger::station {

struct StationOptions {
    std::string folder = ".";        // logs, settings, tables
    std::optional<std::string> book; // FOLDER/bench.book
    std::optional<std::string> port; // of the bench; asked for on the page where none is named
    std::uint16_t listen = 0;        // 0: any that is free
};

struct StationHooks {
    std::function<void(const std::string& first_address)> ready;
    std::function<int()> interrupts; // how often the operator has asked to stop
};

// Until it is interrupted; a run that is on is halted first and its log closed.
[[nodiscard]] Status serve(const StationOptions& options, const StationHooks& hooks);

} // namespace dropledger::station
