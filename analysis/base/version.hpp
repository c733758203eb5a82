// The program's version: what --version, certificates, the bench book and the package say.
//
// Source: the project's version in the topmost CMakeLists.txt, and no other place.
#pragma once

#include <string_view>

namespace dropledger {

[[nodiscard]] std::string_view version();             // "0.2.0"
[[nodiscard]] std::string_view program_and_version(); // "dropledger 0.2.0"

} // namespace dropledger
