// A likely cause of what a unit does wrong, with its evidence.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace dropledger::causes {

struct Cause {
    std::string kind;
    double p_value = 1.0;             // adjusted for the places looked at, not for the kinds
    std::string evidence;             // a sentence without full stop
    std::string look_at;              // first
    std::vector<std::uint32_t> drops; // concerned, the first ones
};

} // namespace dropledger::causes
