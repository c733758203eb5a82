// A tolerance profile: what a unit must keep, for one mode and kind of crop, and how sure one must
// be.
//
// Units: lengths in mm, shares as fractions; each key of the file says its unit.
// Undefined when: a limit is not in the file; then that criterion is not judged. A profile with a
// missing mandatory key, an unknown key or an impossible value is refused with file, line and key.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/ledger/setup.hpp"
#include "analysis/measures/quantity.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::verdict {

using measures::Quantity;
using measures::Sense;

// One thing to be kept.
struct Limit {
    Quantity quantity{};
    double value = 0.0;

    [[nodiscard]] Sense sense() const; // throws for a quantity that is neither good nor bad
    [[nodiscard]] bool operator==(const Limit&) const = default;
};

// Levels and risks of the test by which a live run may stop itself (definitions, section 5). The run
// goes by the profile's limit, and by the bad level where there is none; the good one is checked
// against it, and was a level of Wald's test in older runs.
struct SequentialLevels {
    double good = 0.0;
    double bad = 0.0;
};

struct Sequential {
    std::optional<SequentialLevels> miss;
    std::optional<SequentialLevels> multiples;
    double alpha = 0.05; // a good unit is called bad
    double beta = 0.10;  // a bad unit is called good
    std::int64_t most_drops = 0;
};

// How far a channel must differ from its siblings to be worth naming.
struct SiblingDifference {
    double share = 0.02; // of drops; line mode: of the rate
    double mm = 3.0;     // of the mean placement error
};

struct Profile {
    std::string name;
    std::string title;
    ledger::Mode mode = ledger::Mode::single;
    Confidence confidence{0.95};
    std::int64_t least_drops = 0; // line mode: segments
    // Independent events behind a share that is called outside. Three: one long gap is one event,
    // and fewer than three rows say nothing of how often they start.
    std::int64_t least_events = 3;
    std::int64_t segment_um = 100'000;
    std::optional<std::int64_t> allowance_um; // for the share of |e| inside it
    std::vector<Limit> limits;
    std::optional<Sequential> sequential;
    SiblingDifference least_difference;

    [[nodiscard]] std::optional<double> limit_of(Quantity quantity) const;
};

// `text` is the file's content, `where` its name for messages.
[[nodiscard]] Result<Profile> parse_profile(std::string_view text, const std::string& where);

// Judged where nobody names a profile: no limits, 95 %.
[[nodiscard]] Profile no_profile(ledger::Mode mode);

} // namespace dropledger::verdict
