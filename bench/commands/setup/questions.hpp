// Asks at the terminal for what the options left open of a machine.
//
// Assumes: an empty answer takes what stands in brackets. A wrong one is told and asked for again.
// Undefined when: nobody can be asked: then what cannot be done without is an error that names the
// option.
#pragma once

#include "bench/commands/setup/machine.hpp"

#include <functional>
#include <optional>
#include <string>

namespace dropledger::cli {

// The answer to a prompt; nothing at the end of the input.
using Ask = std::function<std::optional<std::string>(const std::string& prompt)>;

// `ask`: empty where nobody can be asked.
[[nodiscard]] Status ask_for_the_rest(const Ask& ask, Machine& machine);

} // namespace dropledger::cli
