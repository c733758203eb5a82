// The controller's codes in words, with what to do.
//
// Undefined when: a code is new: the text then shows the code itself.
#pragma once

#include <string>
#include <string_view>

namespace dropledger::recorder {

[[nodiscard]] std::string fault_in_words(std::string_view code);
[[nodiscard]] std::string halt_in_words(std::string_view reason);
[[nodiscard]] std::string refusal_in_words(std::string_view code);
// The refusal is of a line that was damaged, or that asks for lines: trying again is the answer.
[[nodiscard]] bool is_wire_trouble(std::string_view code);

} // namespace dropledger::recorder
