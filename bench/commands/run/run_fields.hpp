// The options of a run that its settings file has too, in one table: name, where it goes, help.
//
// On the command line a field is --spacing-mm, in the file's [run] table spacing_mm.
#pragma once

#include "bench/commands/run/run_options.hpp"

#include <span>
#include <variant>

namespace dropledger::cli {

using RunTarget =
    std::variant<std::optional<std::string> RunOptions::*,
                 std::optional<std::int64_t> RunOptions::*, std::optional<double> RunOptions::*>;

struct RunField {
    const char* name; // spacing_mm
    RunTarget target;
    const char* help;
};

[[nodiscard]] std::span<const RunField> run_fields();

} // namespace dropledger::cli
