// What the user says of a table that may mean two things; nothing is assumed.
#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <string>

namespace dropledger::field {

enum class Means { ask, silent, unknown };

struct Answers {
    Means blank_seen = Means::ask;    // `seen` that says nothing
    Means lacking_drops = Means::ask; // drop numbers that lack
    std::int64_t drop_step = 1;       // by which the drop number grows
    std::optional<double> spacing_m;  // between drops, as the machine was set
    std::set<std::string> accepted;   // keys of questions: the table is right as it is
};

} // namespace dropledger::field
