// `dropledger batch print`: a signed certificate as pages for people.
#pragma once

#include "bench/cli/command.hpp"

#include <string>
#include <string_view>

namespace dropledger::cli {

void add_batch_print(Command& batch);

// The signed JSON of a certificate file, be it that file itself or a PDF that `batch print` made
// of it. `where` is for messages.
[[nodiscard]] Result<std::string> certificate_json(std::string bytes, const std::string& where);

} // namespace dropledger::cli
