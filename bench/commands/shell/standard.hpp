// Standard output and standard error, without buffers that hide a failure.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/base/shown_text.hpp"

#include <string_view>

namespace dropledger::cli {

// All of it, now; a full disk, a closed pipe or a closed descriptor is an error.
[[nodiscard]] Status write_standard_output(std::string_view bytes);

// To standard error; where that fails nobody is left to be told.
void write_standard_error(std::string_view bytes);

// Words for the person at the terminal, on standard error; texts put in are shown escaped.
template <class... T>
void tell(fmt::format_string<decltype(shown_argument(std::declval<const T&>()))...> form,
          const T&... arguments) {
    write_standard_error(fmt::format(form, shown_argument(arguments)...));
}

// At the start of the program: a reader that went away makes a write fail instead of ending us, and
// no file of ours comes to lie on a standard descriptor that was closed.
void prepare_standard_files();

} // namespace dropledger::cli
