#include "tests/analysis/causes/simulated_runs.hpp"

#include "analysis/causes/cause_watch.hpp"

#include <algorithm>
#include <cmath>
#include <random>
#include <set>

namespace dropledger::causes {

namespace {

constexpr std::uint32_t drops = 1000;
constexpr std::uint32_t cells = 30;

class Run {
public:
    Run(Fault fault, std::uint32_t seed)
        : fault_(fault), random_(seed), burst_at_(100 + seed % 700) {}

    [[nodiscard]] std::uint32_t seeds(std::uint32_t drop) {
        const bool at_cell = drop % cells == 11;
        if (at_cell && (fault_ == Fault::bad_cell || fault_ == Fault::bad_cell_unknown) &&
            chance(0.5))
            return 0;
        if (at_cell && fault_ == Fault::double_cell && chance(0.5))
            return 2;
        if (fault_ == Fault::double_feeding && chance(0.1))
            return 2;
        if (fault_ == Fault::bridging && drop >= burst_at_ && drop < burst_at_ + 20 && chance(0.6))
            return 0;
        if ((fault_ == Fault::empty && drop >= drops - 40) || (fault_ == Fault::start && drop < 5))
            return 0;
        if (chance(0.01))
            return 0;
        return chance(0.01) ? 2 : 1;
    }

    [[nodiscard]] std::uint32_t seen(std::uint32_t seeds, std::uint32_t drop, bool judging) {
        double efficiency = 0.995;
        if (fault_ == Fault::blind_gate && judging)
            efficiency -= 0.2 * static_cast<double>(drop) / drops;
        std::uint32_t count = 0;
        for (std::uint32_t i = 0; i < seeds; ++i)
            count += chance(efficiency) ? 1U : 0U;
        return count;
    }

    // A gate's pulse: 450 thousandths, standard deviation 15 %.
    [[nodiscard]] std::uint32_t depth_milli(std::uint32_t drop, bool judging) {
        const double fall = fault_ == Fault::dim_sensor && !judging
                                ? 0.15 * static_cast<double>(drop) / drops
                                : 0.0;
        return static_cast<std::uint32_t>(
            450.0 * (1.0 - fall) *
            std::max(0.2, std::normal_distribution<double>(1.0, 0.15)(random_)));
    }

    [[nodiscard]] std::int64_t error_um(std::uint32_t drop) {
        const double drift =
            fault_ == Fault::drift ? 8000.0 * static_cast<double>(drop) / drops : 0.0;
        const double lag = fault_ == Fault::lag ? 10'000.0 : 0.0;
        return static_cast<std::int64_t>(
            std::normal_distribution<double>(drift + lag, 8000.0)(random_));
    }

private:
    [[nodiscard]] bool chance(double p) {
        return std::uniform_real_distribution<double>(0.0, 1.0)(random_) < p;
    }

    Fault fault_;
    std::mt19937 random_;
    std::uint32_t burst_at_;
};

ledger::Entry entry_of(std::uint32_t drop, std::uint32_t seeds, std::int64_t error_um) {
    ledger::Entry entry;
    entry.drop.index = drop;
    entry.drop.position_um = static_cast<std::int64_t>(drop) * 180'000;
    entry.seeds = seeds;
    entry.sum_um = static_cast<std::int64_t>(seeds) * error_um;
    return entry;
}

} // namespace

std::string name_of(Fault fault) {
    constexpr const char* names[fault_count] = {"healthy",
                                                "bad cell, known",
                                                "bad cell, unknown",
                                                "double cell",
                                                "bridging",
                                                "empty container",
                                                "start loss",
                                                "valve drift",
                                                "valve lag",
                                                "gate going blind",
                                                "own sensor going blind",
                                                "double feeding"};
    return names[static_cast<int>(fault)];
}

std::string strength_of(Fault fault) {
    constexpr const char* strengths[fault_count] = {
        "none",
        "1 of 30 cells misses half of its drops",
        "the same, number of cells not known",
        "1 of 30 cells gives two seeds in half of its drops",
        "60 % missing for 20 drops, once",
        "the last 40 drops",
        "the first 5 drops",
        "8 mm along the run",
        "10 mm off all along, a lead is set",
        "efficiency falls by 0.2 along the run",
        "its pulses grow 15 % shallower, none is overlooked more",
        "two seeds in 11 % of drops, evenly; 5 % may"};
    return strengths[static_cast<int>(fault)];
}

std::string kind_of(Fault fault) {
    constexpr const char* kinds[fault_count] = {
        "",          "bad_cell",         "bad_cell",         "bad_cell",
        "bridging",  "empty_container",  "start_loss",       "valve_drift",
        "valve_lag", "gate_going_blind", "gate_going_blind", "double_feeding"};
    return kinds[static_cast<int>(fault)];
}

std::vector<std::string> named(Fault fault, std::uint32_t seed) {
    Run run(fault, seed);
    const WatchSettings settings{
        .mode = ledger::Mode::single,
        .cells = fault == Fault::bad_cell ? std::optional<std::int64_t>(cells) : std::nullopt,
        .has_places = true,
        .lead_is_set = true};
    WatchSettings own = settings;
    own.gate = 0;
    CauseWatch judging(settings);
    CauseWatch other(own);
    for (std::uint32_t drop = 0; drop < drops; ++drop) {
        const std::uint32_t seeds = run.seeds(drop);
        const std::int64_t error_um = run.error_um(drop);
        for (CauseWatch* const watch : {&judging, &other}) {
            const std::uint32_t seen = run.seen(seeds, drop, watch == &judging);
            watch->add(entry_of(drop, seen, error_um));
            for (std::uint32_t i = 0; i < seen; ++i)
                watch->add_pulse(run.depth_milli(drop, watch == &judging));
        }
    }
    std::vector<std::string> kinds;
    for (const Cause& cause : judging.causes(&other))
        kinds.emplace_back(key_of(cause.kind));
    return kinds;
}

std::map<std::string, int> confusion(Fault fault, std::uint32_t runs, std::uint32_t seed) {
    std::map<std::string, int> counts;
    for (std::uint32_t i = 0; i < runs; ++i) {
        const std::vector<std::string> kinds = named(fault, seed + 7919 * i);
        for (const std::string& kind : std::set<std::string>(kinds.begin(), kinds.end()))
            ++counts[kind];
        if (kinds.empty())
            ++counts[""];
    }
    return counts;
}

std::map<std::string, int> named_of_wandering(const Wander& wander, int runs, std::uint64_t seed) {
    std::map<std::string, int> counts;
    for (int run = 0; run < runs; ++run) {
        std::mt19937_64 random{seed + static_cast<std::uint64_t>(run)};
        std::normal_distribution<double> normal;
        CauseWatch watch({.mode = ledger::Mode::single, .cells = {}, .lead_is_set = true});
        double at = normal(random);
        for (int drop = 0; drop < wander.drops; ++drop) {
            at = wander.memory * at +
                 std::sqrt(1.0 - wander.memory * wander.memory) * normal(random);
            const double drift_um = 1000.0 * wander.drift_mm * (drop + 0.5) / wander.drops;
            watch.add(entry_of(static_cast<std::uint32_t>(drop), 1,
                               std::llround(8000.0 * at + drift_um)));
        }
        for (const Cause& cause : watch.causes(nullptr))
            ++counts[std::string{key_of(cause.kind)}];
    }
    return counts;
}

} // namespace dropledger::causes
