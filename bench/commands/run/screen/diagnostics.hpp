// What goes on in a run, line by line with its level, in a file for the day when something must be
// found out.
//
// The file turns over at five megabytes; three older ones are kept (NAME.1.log …). A diagnosis is no
// record: the log is the truth, and a diagnostics file that cannot be written stops no run.
#pragma once

#include "analysis/base/result.hpp"

#include <optional>
#include <string>

namespace dropledger::cli {

// Refused where `file`, or one that it would turn over to, is of another kind. Without a file
// nothing is noted.
[[nodiscard]] Status open_diagnostics(const std::optional<std::string>& file);

void note_news(const std::string& text);   // info: what the operator was told
void note_detail(const std::string& text); // debug

} // namespace dropledger::cli
