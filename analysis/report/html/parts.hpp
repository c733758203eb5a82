// What pages carry beside their words: the style sheets, scripts and symbols of parts/, by their
// names without the ending.
//
// Colours are Okabe and Ito's palette with black and white; each stands beside a shape, a pattern
// or a word. A page says everything without its script.
#pragma once

#include <string_view>

namespace dropledger::report::html {

// Throws BrokenInvariant where there is no such file.
[[nodiscard]] std::string_view part(std::string_view name);

} // namespace dropledger::report::html
