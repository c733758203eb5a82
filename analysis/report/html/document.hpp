// The shell of every page: one file that needs no network, with the house style and the shared symbols.
//
// Assumes: `body` is markup. The page is well-formed XML as well.
#pragma once

#include <string>
#include <string_view>

namespace dropledger::report::html {

struct Document {
    std::string_view title; // plain text
    std::string_view body;
    std::string_view more_style = {};
    std::string_view script = {};
};

[[nodiscard]] std::string document(const Document& document);

} // namespace dropledger::report::html
