// What every page carries: style sheet, shared patterns and symbols, and the small script of "go to
// drop".
//
// Colours are Okabe and Ito's palette with black and white; each stands beside a shape, a pattern
// or a word. The page says everything without the script.
#pragma once

#include <string_view>

namespace dropledger::report::html {

[[nodiscard]] std::string_view style_sheet();
[[nodiscard]] std::string_view shared_symbols();
[[nodiscard]] std::string_view script();

} // namespace dropledger::report::html
