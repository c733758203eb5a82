// What the recorder reads of a controller line's text fields, and how it tells the controller's
// trouble.
#pragma once

#include "analysis/base/result.hpp"

#include <string>
#include <string_view>

namespace dropledger::recorder {

constexpr std::size_t protocol_field = 3; // hello
constexpr std::size_t boot_field = 4;
constexpr std::size_t channels_field = 5;
constexpr std::size_t firmware_field = 6;
constexpr std::size_t detail_field = 3; // halted, refused
constexpr std::size_t code_field = 4;   // fault

// One refusal may be the answer to a line that was damaged on the way.
constexpr int refusals_in_earnest = 3;

// Why a run ended that moved though nobody asked for it.
constexpr const char* unasked_start = "unasked_start";
// Why it ended where `halted` says so: its REASON, which may be left out.
[[nodiscard]] std::string halt_reason(std::string_view halted_line);

// Whether a run that halted so after that many starts may have drops left that another start can
// make: its host had gone; or it is gone on with already, and its channels lacked different numbers.
[[nodiscard]] bool leaves_drops(std::string_view reason, int starts);

// The text of a field of a line that has passed its check; empty where it is not there.
[[nodiscard]] std::string field(std::string_view line, std::size_t index);

[[nodiscard]] Error controller_trouble(std::string what, std::string remedy);

} // namespace dropledger::recorder
