// One criterion: its interval against its limit, the forbidden side hatched.
//
// Undefined when: there is no estimate with an interval: an empty string.
#pragma once

#include "analysis/verdict/judgement.hpp"

#include <string>

namespace dropledger::report::pictures {

[[nodiscard]] std::string criterion_picture(const verdict::Criterion& criterion);

} // namespace dropledger::report::pictures
