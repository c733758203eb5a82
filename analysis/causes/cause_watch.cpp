#include "analysis/causes/cause_watch.hpp"

#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/shares/clustering.hpp"
#include "analysis/statistics/shares/comparison.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::causes {

namespace {

constexpr std::int64_t least_drops = 50;
constexpr std::int64_t least_end_run = 10;
// A miss is ten times as likely from an empty container as from a bad unit (0.98 to 0.1), a seed
// 45 times as unlikely (0.02 to 0.9): their logarithms. Three seeds in a row end a dearth.
constexpr double dearth_by_miss = 2.28;
constexpr double dearth_by_seed = -3.81;
constexpr double most_dearth = 8.0;
constexpr double least_empty = 0.9; // share of misses
constexpr double least_drift_mm = 3.0;
constexpr std::int64_t most_listed = 50;
constexpr double usual_multiples = 0.05;
constexpr double least_shallowing = 0.1;
constexpr double blind_looks = 4.0; // two gates, by misses and by depth

std::vector<std::uint32_t> range_of_drops(std::int64_t first, std::int64_t last,
                                          std::int64_t step) {
    std::vector<std::uint32_t> drops;
    for (std::int64_t drop = first; drop <= last && std::ssize(drops) < most_listed; drop += step)
        drops.push_back(static_cast<std::uint32_t>(drop));
    return drops;
}

// One-sided exact test that `b` misses more than `a` does.
double more_than(const Misses& a, const Misses& b) {
    const auto count = std::llround(b.count);
    return count < 1 ? 1.0
                     : statistics::hypergeometric_sf(
                           count - 1, {.lot = a.drops + b.drops,
                                       .nonconforming = std::llround(a.count) + count,
                                       .sample = b.drops});
}

double ratio(double part, double whole) {
    return whole > 0.0 ? part / whole : 0.0;
}

} // namespace

CauseWatch::CauseWatch(const WatchSettings& settings)
    : settings_(settings), misses_by_cell_(settings.cells), multiples_by_cell_(settings.cells) {
}

void CauseWatch::add(const ledger::Entry& entry) {
    const auto index = static_cast<std::int64_t>(entry.drop.index);
    const bool miss = entry.seeds == 0 && entry.drop.target > 0;
    if (entry.drop.start != start_)
        errors_mm_.begin_part(); // places may lie otherwise
    start_ = entry.drop.start;
    add_miss(index, miss);
    misses_by_cell_.add(index, miss, entry.drop.start);
    const bool multiple = settings_.mode == ledger::Mode::single && entry.seeds > 1;
    multiples_ += multiple ? 1 : 0;
    multiples_by_cell_.add(index, multiple, entry.drop.start);
    multiples_along_.add(multiple ? 1.0 : 0.0);
    misses_along_.add(miss ? 1.0 : 0.0);
    if (entry.seeds > 0 && settings_.has_places)
        add_error(entry.error_um());
    else
        errors_mm_.skip();
}

void CauseWatch::add_error(std::int64_t error_um) {
    errors_mm_.add(static_cast<double>(error_um) / 1000.0);
    errors_um_.add(error_um);
}

void CauseWatch::add_miss(std::int64_t index, bool miss) {
    last_index_ = index;
    ++drops_;
    misses_ += miss ? 1 : 0;
    run_ = miss ? run_ + 1 : 0;
    follow_dearth(index, miss);
    if (drops_ <= start_drops) {
        start_misses_ += miss ? 1 : 0;
        return;
    }
    std::uint8_t& slot = recent_[static_cast<std::size_t>(drops_ % window)];
    in_window_ += (miss ? 1 : 0) - slot;
    slot = miss ? 1 : 0;
    if (miss && in_window_ > pending_.misses)
        pending_ = {in_window_, std::max<std::int64_t>(0, index - window + 1)};
    if (!miss) { // a seed: the row of misses is over
        if (pending_.misses > crowd_.misses)
            crowd_ = pending_;
        pending_ = {};
    }
}

void CauseWatch::follow_dearth(std::int64_t index, bool miss) {
    if (miss && dearth_.score <= 0.0)
        dearth_ = {.from = index, .crowd_before = crowd_};
    if (!miss && dearth_.score <= 0.0)
        return;
    dearth_.score = std::min(most_dearth, dearth_.score + (miss ? dearth_by_miss : dearth_by_seed));
    ++dearth_.drops;
    dearth_.misses += miss ? 1 : 0;
}

CauseWatch::Dearth CauseWatch::empty_end() const {
    const bool to_the_end = run_ >= least_end_run || in_window_ >= window - 2;
    const bool empty =
        dearth_.score > 0.0 && dearth_.misses >= least_end_run &&
        static_cast<double>(dearth_.misses) >= least_empty * static_cast<double>(dearth_.drops);
    return to_the_end && empty ? dearth_ : Dearth{};
}

std::int64_t CauseWatch::settled_misses() const {
    return std::max<std::int64_t>(0, misses_ - start_misses_ - empty_end().misses);
}

void CauseWatch::find_bad_cells(std::vector<Cause>& found) const {
    const auto add = [&](const PeriodScan& scan, const char* what, const char* look_at) {
        const auto one = scan.strongest();
        if (!one || one->p_value > level / 2.0) // misses and multiples: two looks
            return;
        found.push_back(
            {.kind = CauseKind::bad_cell,
             .p_value = std::min(1.0, 2.0 * one->p_value),
             .evidence =
                 fmt::format("{} at every {}th drop: {} of {} drops there, {} of {} in all", what,
                             one->cells, one->hits, one->drops, one->all_hits, one->all_drops),
             .look_at = fmt::format("the cell at drops {}, {}, ... of {}: {}", one->residue,
                                    one->residue + one->cells, one->cells, look_at),
             .drops = range_of_drops(one->residue, last_index_, one->cells)});
    };
    add(misses_by_cell_, "misses", "blocked, worn or too small for the seed");
    add(multiples_by_cell_, "multiples",
        "damaged or too large, or the singulator does not clear it");
}

void CauseWatch::find_bridging(std::vector<Cause>& found) const {
    const Dearth empty = empty_end();
    const std::int64_t n = drops_ - start_drops - empty.drops;
    const Crowd crowd = empty.drops > 0                    ? empty.crowd_before
                        : crowd_.misses >= pending_.misses ? crowd_
                                                           : pending_;
    if (crowd.misses < 3 || n < 2 * window)
        return;
    // What the crowd itself adds would hide it: the other drops say what is usual.
    const auto others = static_cast<double>(settled_misses() - crowd.misses) + 1.0;
    const double usual = others / static_cast<double>(n - window + 1);
    const auto p = statistics::scan_probability(
        {.most = crowd.misses,
         .mean_per_window = usual * static_cast<double>(window),
         .windows = static_cast<double>(n) / static_cast<double>(window)});
    if (!p || *p > level)
        return;
    found.push_back(
        {.kind = CauseKind::bridging,
         .p_value = *p,
         .evidence = fmt::format("{} misses among the {} drops from {} on, where {:.2f} are usual",
                                 crowd.misses, window, crowd.first_drop,
                                 usual * static_cast<double>(window)),
         .look_at = "seed that bridges over the meter or sticks: seed dust, damp, agitator",
         .drops = range_of_drops(crowd.first_drop, crowd.first_drop + window - 1, 1)});
}

void CauseWatch::find_empty(std::vector<Cause>& found) const {
    const Dearth empty = empty_end();
    if (empty.drops == 0 || empty.drops >= drops_)
        return;
    const double usual =
        std::min(1.0, (static_cast<double>(settled_misses() + start_misses_) + 1.0) /
                          static_cast<double>(drops_ - empty.drops + 1));
    const std::int64_t pulses = empty.drops - empty.misses;
    // Where pulses lie in between the stretch was chosen among as many as there are drops.
    const double p =
        pulses == 0
            ? std::pow(usual, static_cast<double>(empty.drops))
            : std::min(1.0, static_cast<double>(drops_) *
                                statistics::binomial_sf(empty.misses - 1, {empty.drops, usual}));
    if (p > level)
        return;
    found.push_back(
        {.kind = CauseKind::empty_container,
         .p_value = p,
         .evidence =
             pulses == 0
                 ? fmt::format("nothing fell from drop {} on, for the last {} drops", empty.from,
                               empty.drops)
                 : fmt::format("hardly anything fell from drop {} on: {} of the last {} drops "
                               "showed a pulse",
                               empty.from, pulses, empty.drops),
         .look_at = "is seed in the container, does it reach the meter, and does the meter turn to "
                    "the end",
         .drops = range_of_drops(empty.from, last_index_, 1)});
}

void CauseWatch::find_start_loss(std::vector<Cause>& found) const {
    const std::int64_t n = drops_ - start_drops - empty_end().drops;
    if (start_misses_ < 2 || n < least_drops)
        return;
    const double p = statistics::hypergeometric_sf(
        start_misses_ - 1, {.lot = n + start_drops,
                            .nonconforming = settled_misses() + start_misses_,
                            .sample = start_drops});
    if (p > level)
        return;
    std::erase_if(found,
                  [](const Cause& cause) { // what is lost at the start may last a little longer
                      return cause.kind == CauseKind::bridging &&
                             cause.drops.front() < start_drops + window;
                  });
    found.push_back(
        {.kind = CauseKind::start_loss,
         .p_value = p,
         .evidence = fmt::format("{} of the first {} drops are misses, {} of the {} behind them",
                                 start_misses_, start_drops, settled_misses(), n),
         .look_at = "when the meter starts: it is not filled yet at the first drops",
         .drops = range_of_drops(0, start_drops - 1, 1)});
}

void CauseWatch::find_drift(std::vector<Cause>& found) const {
    const auto trend = errors_mm_.trend();
    if (!trend || trend->p_value > level || std::abs(trend->change) < least_drift_mm)
        return;
    found.push_back(
        {.kind = CauseKind::valve_drift,
         .p_value = trend->p_value,
         .evidence = fmt::format("landings move by {:+.1f} mm along the run", trend->change),
         .look_at = "the valve's lag, which changes as it warms up or its supply sags; then the "
                    "travel sensor",
         .drops = {}});
}

void CauseWatch::find_lag(std::vector<Cause>& found) const {
    const auto dependence = errors_um_.dependence();
    if (!settings_.lead_is_set || errors_um_.count() < least_drops || !dependence)
        return;
    const double mean = errors_um_.mean().value() / 1000.0;
    if (std::abs(mean) < settings_.most_lag_mm)
        return;
    // Beyond doubt is not enough: the whole of the offset must exceed what is let pass.
    const double p =
        statistics::MeanLaw{*dependence}.beyond(1000.0 * (std::abs(mean) - settings_.most_lag_mm));
    if (p > level)
        return;
    found.push_back(
        {.kind = CauseKind::valve_lag,
         .p_value = std::min(1.0, p),
         .evidence = fmt::format(
             "landings are {:+.1f} mm from their places on average, with a lead set", mean),
         .look_at = "the valve's lag against the lead that is set: calibrate the lead anew; then "
                    "the valve's supply",
         .drops = {}});
}

void CauseWatch::find_double_feeding(std::vector<Cause>& found) const {
    if (settings_.mode != ledger::Mode::single)
        return;
    const double limit = settings_.most_multiples.value_or(usual_multiples);
    statistics::Group even{.x = multiples_, .n = drops_};
    const auto cell = multiples_by_cell_.strongest();
    if (cell && cell->p_value <= level / 2.0) // a cause of its own
        even = {.x = even.x - cell->hits, .n = even.n - cell->drops};
    if (even.x < 1 || even.n < 1)
        return;
    const double p = statistics::binomial_sf(even.x - 1, {even.n, limit});
    if (p > level)
        return;
    const auto trend = multiples_along_.trend();
    const bool steady = !trend || trend->p_value > level;
    found.push_back(
        {.kind = CauseKind::double_feeding,
         .p_value = p,
         .evidence = fmt::format(
             "{} of {} drops hold two seeds or more, {:.1f} % where {:.1f} % may, at no "
             "cell in particular and {}",
             even.x, even.n,
             100.0 * ratio(static_cast<double>(even.x), static_cast<double>(even.n)), 100.0 * limit,
             steady                ? "all along the run"
             : trend->change > 0.0 ? "more of them towards the end"
                                   : "fewer of them towards the end"),
         .look_at = "the singulator or wiper, set too loose; suction or brush pressure; cells too "
                    "large for this seed",
         .drops = {}});
}

// Misses behind the run's first quarter, without the drops of an empty container, which is no
// gate's fault.
Misses CauseWatch::late_misses(std::int64_t empty_drops) const {
    const Parts parts = misses_along_.parts();
    const std::int64_t drops = std::max<std::int64_t>(0, parts.rest_count - empty_drops);
    return {
        std::clamp(parts.rest - static_cast<double>(empty_drops), 0.0, static_cast<double>(drops)),
        drops};
}

std::optional<Cause> CauseWatch::more_misses_than(const CauseWatch& other) const {
    const std::int64_t empty_drops = std::min(empty_end().drops, other.empty_end().drops);
    const Parts parts = misses_along_.parts();
    const Parts theirs = other.misses_along_.parts();
    const Misses early{parts.first, parts.first_count};
    const Misses late = late_misses(empty_drops);
    const Misses late_theirs = other.late_misses(empty_drops);
    // More than before, and more than the other gate at the same drops: both must hold.
    const double p = std::max(more_than(early, late), more_than(late_theirs, late));
    if (p > level / blind_looks || late.count < 1.5 * late_theirs.count)
        return std::nullopt;
    const auto share = [](const Misses& misses) {
        return 100.0 * ratio(misses.count, static_cast<double>(misses.drops));
    };
    return Cause{
        .kind = CauseKind::gate_going_blind,
        .p_value = blind_looks * p,
        .evidence = fmt::format(
            "gate {} misses {:.1f} % in the first quarter and {:.1f} % behind it, gate {} {:.1f} % "
            "and {:.1f} %",
            settings_.gate, share(early), share(late), other.settings_.gate,
            share({theirs.first, theirs.first_count}), share(late_theirs)),
        .look_at = {},
        .drops = {}};
}

std::optional<Cause> CauseWatch::shallower_than(const CauseWatch& other) const {
    const auto mine = depths_milli_.trend();
    const auto theirs = other.depths_milli_.trend();
    if (!mine || !theirs || mine->from <= 0.0 || theirs->from <= 0.0)
        return std::nullopt;
    const double change = mine->change / mine->from;
    const double theirs_change = theirs->change / theirs->from;
    const double error = std::hypot(mine->error / mine->from, theirs->error / theirs->from);
    if (change > -least_shallowing || error <= 0.0)
        return std::nullopt;
    // Seeds that grow smaller dim both gates alike: it must fall, and fall more than the other's.
    const double p =
        std::max(mine->p_value, statistics::normal_sf((theirs_change - change) / error));
    if (p > level / blind_looks || theirs_change < 0.5 * change)
        return std::nullopt;
    return Cause{
        .kind = CauseKind::gate_going_blind,
        .p_value = blind_looks * p,
        .evidence = fmt::format(
            "gate {}'s pulses change in depth by {:+.0f} % along the run, gate {}'s by {:+.0f} %",
            settings_.gate, 100.0 * change, other.settings_.gate, 100.0 * theirs_change),
        .look_at = {},
        .drops = {}};
}

void CauseWatch::find_blind_gate(const CauseWatch& other, std::vector<Cause>& found) const {
    auto misses = more_misses_than(other);
    const auto depth = shallower_than(other);
    if (!misses && !depth)
        return;
    Cause cause = misses ? *misses : *depth;
    if (misses && depth) {
        cause.p_value = std::min(cause.p_value, depth->p_value);
        cause.evidence += "; " + depth->evidence;
    }
    cause.look_at = fmt::format("dust on gate {}'s windows; its alignment and supply{}",
                                settings_.gate, misses ? ". The seed is there" : "");
    found.push_back(std::move(cause));
}

std::vector<Cause> CauseWatch::causes(const CauseWatch* other) const {
    std::vector<Cause> found;
    if (drops_ < least_drops || misses_ == drops_)
        return found;
    find_bad_cells(found);
    find_bridging(found);
    find_empty(found);
    find_start_loss(found);
    find_drift(found);
    find_lag(found);
    find_double_feeding(found);
    if (other != nullptr) {
        find_blind_gate(*other, found);
        other->find_blind_gate(*this, found);
    }
    std::stable_sort(found.begin(), found.end(),
                     [](const Cause& a, const Cause& b) { return a.p_value < b.p_value; });
    return found;
}

} // namespace dropledger::causes
