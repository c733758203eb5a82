// The word that a person meant who mistyped a command, an option or a name.
//
// Undefined when: nothing is near enough: then nothing is suggested.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace dropledger::cli {

// What begins as `word` does, at most three of them; else the one nearest to it; else the only one
// that has its letters in their order.
[[nodiscard]] std::vector<std::string_view> meant(std::string_view word,
                                                  const std::vector<std::string_view>& known);

// "did you mean A, B or C?"; empty where nothing is near.
[[nodiscard]] std::string did_you_mean(std::string_view word,
                                       const std::vector<std::string_view>& known);

} // namespace dropledger::cli
