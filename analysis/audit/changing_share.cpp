#include "analysis/audit/changing_share.hpp"

#include "analysis/causes/along_the_run.hpp"
#include "analysis/causes/cause_watch.hpp"
#include "analysis/measures/quantity.hpp"
#include "analysis/statistics/shares/proportion.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <string_view>
#include <utility>

namespace dropledger::audit {

namespace {

using measures::Quantity;
using verdict::Outcome;

bool is_share_of_misses(Quantity quantity) {
    return quantity == Quantity::miss_index || quantity == Quantity::miss_share ||
           quantity == Quantity::misses || quantity == Quantity::empty_share;
}

bool is_share_of_multiples(Quantity quantity) {
    return quantity == Quantity::multiples_index || quantity == Quantity::multiple_share ||
           quantity == Quantity::multiples;
}

// What misses lower.
bool rests_on_seed_seen(Quantity quantity) {
    return quantity == Quantity::quality_of_feed_index || quantity == Quantity::quality_of_feed ||
           quantity == Quantity::exact_share || quantity == Quantity::short_share;
}

std::string_view part_words(int quarters) {
    return quarters == 1 ? "quarter" : quarters == 2 ? "half" : "three quarters";
}

// More drops would not help: they have another share.
bool straddles(const verdict::Criterion& criterion) {
    return criterion.outcome == Outcome::undecided && criterion.estimate &&
           criterion.estimate->interval &&
           verdict::by_interval(*criterion.estimate->interval, criterion.limit) ==
               Outcome::undecided;
}

void leave_open(verdict::Criterion& criterion, std::string reason) {
    criterion.outcome = Outcome::undecided;
    criterion.more_drops = 0;
    criterion.reason = std::move(reason);
}

} // namespace

void withhold_what_changes(const ChannelReport& channel, Confidence confidence, double efficiency,
                           verdict::Criterion& criterion) {
    const Quantity quantity = criterion.limit.quantity;
    const bool of_misses = is_share_of_misses(quantity);
    const bool within = criterion.outcome == Outcome::within;
    if (!(within || straddles(criterion)) || !(of_misses || is_share_of_multiples(quantity)))
        return;
    const auto& course = of_misses ? channel.along.misses : channel.along.multiples;
    if (!course || course->p_value > causes::CauseWatch::level)
        return;
    const double overlooked = of_misses ? 1.0 - efficiency : 0.0;
    const auto& worse = course->worse();
    const double most = statistics::clopper_pearson(worse.x, worse.n, confidence).high;
    if ((most - overlooked) / (1.0 - overlooked) <= criterion.limit.value)
        return;
    leave_open(criterion,
               fmt::format("{}the share {} along the run: {:.1f} % in the first {} and {:.1f} % "
                           "behind; there is no one share to judge",
                           within ? "inside the limit on average, but " : "",
                           course->rises() ? "rises" : "falls",
                           100.0 * causes::ShareCourse::share_of(course->first),
                           part_words(course->quarters),
                           100.0 * causes::ShareCourse::share_of(course->last)));
}

void withhold_what_a_dim_gate_misses(const ChannelReport& channel, Confidence confidence,
                                     verdict::Criterion& criterion) {
    const Quantity quantity = criterion.limit.quantity;
    const auto& along = channel.along;
    if (criterion.outcome != Outcome::outside || !along.dimming ||
        !(is_share_of_misses(quantity) || rests_on_seed_seen(quantity)))
        return;
    const auto& [x, n] = along.misses_at_first;
    const bool at_least = criterion.limit.sense() == verdict::Sense::at_least;
    const double limit = at_least ? 1.0 - criterion.limit.value : criterion.limit.value;
    if (n > 0 && statistics::clopper_pearson(x, n, confidence).low > limit)
        return;
    leave_open(criterion,
               fmt::format("beyond the limit, but the pulses of gate {} grow {:.0f} % shallower "
                           "along the run: it may overlook more and more seeds, and no other "
                           "gate tells",
                           channel.gate, -100.0 * *along.dimming));
}

} // namespace dropledger::audit
