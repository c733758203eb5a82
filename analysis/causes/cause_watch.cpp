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
constexpr double least_speed_change = 0.1;
constexpr std::int64_t most_listed = 50;
constexpr double usual_multiples = 0.05;

std::vector<std::uint32_t> range_of_drops(std::int64_t first, std::int64_t last,
                                          std::int64_t step) {
    std::vector<std::uint32_t> drops;
    for (std::int64_t drop = first; drop <= last && std::ssize(drops) < most_listed; drop += step)
        drops.push_back(static_cast<std::uint32_t>(drop));
    return drops;
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
    add_speed(entry.drop);
    add_miss(index, miss);
    misses_by_cell_.add(index, miss, entry.drop.start);
    const bool multiple = settings_.mode == ledger::Mode::single && entry.seeds > 1;
    multiples_ += multiple ? 1 : 0;
    multiples_by_cell_.add(index, multiple, entry.drop.start);
    multiples_along_.add(multiple);
    misses_along_.add(miss);
    if (entry.seeds > 0 && settings_.has_places)
        add_error(entry.error_um());
    else
        errors_mm_.skip();
}

void CauseWatch::add_error(std::int64_t error_um) {
    errors_mm_.add(static_cast<double>(error_um) / 1000.0);
    errors_um_.add(error_um);
}

void CauseWatch::add_speed(const ledger::Commanded& drop) {
    constexpr double us_per_s = 1e6;
    if (last_drop_ && last_drop_->start == drop.start && drop.time_us > last_drop_->time_us)
        speeds_um_s_.add(us_per_s *
                         static_cast<double>(std::abs(drop.position_um - last_drop_->position_um)) /
                         static_cast<double>(drop.time_us - last_drop_->time_us));
    last_drop_ = drop;
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
        found.push_back({.kind = CauseKind::bad_cell,
                         .p_value = std::min(1.0, 2.0 * one->p_value),
                         .evidence = fmt::format(
                             "{} at every {}th drop: {} of {} drops there, {} of {} in all", what,
                             one->cells, one->hits, one->drops, one->all_hits, one->all_drops),
                         .look_at = fmt::format("the cell of drops {}, {}, {}, ... ({} cells): {}",
                                                one->residue, one->residue + one->cells,
                                                one->residue + 2 * one->cells, one->cells, look_at),
                         .drops = range_of_drops(one->residue, last_index_, one->cells)});
    };
    add(misses_by_cell_, "misses", "blocked, worn or too small for the seed");
    add(multiples_by_cell_, "multiples",
        "damaged or too large, or the singulator does not clear it");
}

void CauseWatch::find_bridging(const AlongTheRun& along, std::vector<Cause>& found) const {
    const Dearth empty = empty_end();
    const std::int64_t n = drops_ - start_drops - empty.drops;
    const Crowd crowd = empty.drops > 0                    ? empty.crowd_before
                        : crowd_.misses >= pending_.misses ? crowd_
                                                           : pending_;
    if (crowd.misses < 3 || n < 2 * window)
        return;
    // What the crowd itself adds would hide it: the other drops say what is usual.
    auto others = static_cast<double>(settled_misses() - crowd.misses) + 1.0;
    auto among = static_cast<double>(n - window + 1);
    // Where misses become more for good, what is usual is so behind the place, not in the mean.
    if (const auto& course = along.misses;
        course && course->p_value <= level && course->worse().x >= crowd.misses) {
        others = static_cast<double>(course->worse().x - crowd.misses) + 1.0;
        among = static_cast<double>(std::max<std::int64_t>(1, course->worse().n - window + 1));
    }
    const double usual = std::min(1.0, others / among);
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
    // A lag shows in proportion to the speed: where that changed, no valve needs to have.
    const auto speed = speeds_um_s_.trend();
    if (speed && speed->p_value <= level &&
        std::abs(speed->change) >= least_speed_change * speed->from) {
        found.push_back(
            {.kind = CauseKind::speed_dependence,
             .p_value = trend->p_value,
             .evidence =
                 fmt::format("seeds land {:.1f} mm {} at the end of the run than at its "
                             "start, and its speed went from {:.2f} to {:.2f} m/s",
                             std::abs(trend->change), trend->change > 0.0 ? "later" : "earlier",
                             speed->from / 1e6, (speed->from + speed->change) / 1e6),
             .look_at = "the lead, by runs at several steady speeds (calibrate lead); then the "
                        "valve's lag",
             .drops = {}});
        return;
    }
    found.push_back(
        {.kind = CauseKind::valve_drift,
         .p_value = trend->p_value,
         .evidence =
             fmt::format("seeds land {:.1f} mm {} at the end of the run than at its start",
                         std::abs(trend->change), trend->change > 0.0 ? "later" : "earlier"),
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
         .evidence = fmt::format("seeds land {:.1f} mm {} on average, with a lead set",
                                 std::abs(mean), mean > 0.0 ? "late" : "early"),
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
    const auto trend = multiples_along_.hits().trend();
    const bool steady = !trend || trend->p_value > level;
    found.push_back(
        {.kind = CauseKind::double_feeding,
         .p_value = p,
         .evidence = fmt::format(
             "{} of {} drops hold two seeds or more, {:.1f} % where {:.1f} % may, at no "
             "cell in particular and {}",
             even.x, even.n, 100.0 * ShareCourse::share_of(even), 100.0 * limit,
             steady                ? "all along the run"
             : trend->change > 0.0 ? "more of them towards the end"
                                   : "fewer of them towards the end"),
         .look_at = "the singulator or wiper, set too loose; suction or brush pressure; cells too "
                    "large for this seed",
         .drops = {}});
}

std::vector<Cause> CauseWatch::causes(const CauseWatch* other) const {
    std::vector<Cause> found;
    if (drops_ < least_drops || misses_ == drops_)
        return found;
    const AlongTheRun along = along_the_run(other);
    find_bad_cells(found);
    find_bridging(along, found);
    find_empty(found);
    find_start_loss(found);
    find_drift(found);
    find_lag(found);
    find_double_feeding(found);
    if (other != nullptr) {
        find_blind_gate(*other, found);
        other->find_blind_gate(*this, found);
    }
    find_dim_gate(along, found);
    std::stable_sort(found.begin(), found.end(),
                     [](const Cause& a, const Cause& b) { return a.p_value < b.p_value; });
    return found;
}

} // namespace dropledger::causes
