// What a command writes must not lie over what it reads, nor over another of its outputs: a log is
// the truth.
#pragma once

#include "analysis/base/result.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

struct Output {
    const char* option; // "--html"
    std::optional<std::string> file;
};

// Links are followed. Files that are not there yet are compared by their paths.
[[nodiscard]] Status keep_apart(const std::vector<std::string>& inputs,
                                const std::vector<Output>& outputs);

} // namespace dropledger::cli
