// A name as one word of a command that a person copies into a shell: in quotes where it needs them.
#pragma once

#include <string>
#include <string_view>

namespace dropledger {

// What begins with a dash would be taken for an option: `./` goes before it.
[[nodiscard]] std::string shell_word(std::string_view text);

} // namespace dropledger
