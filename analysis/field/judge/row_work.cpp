#include "analysis/field/judge/row_work.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

constexpr Chance cannot_tell{0.0, 1.0, std::nullopt};

// Drops that are silent about as often as in the row's quiet part.
bool is_quiet(double share, double quiet) {
    return share <= 1.5 * quiet + 0.006;
}

std::optional<GateEfficiency> efficiency_for(const JudgeOptions& options, std::int64_t row) {
    const auto found = options.efficiencies.find(row);
    return found == options.efficiencies.end() ? std::nullopt : std::optional(found->second);
}

double seeds_of(const std::vector<std::pair<std::uint32_t, std::int64_t>>& targets) {
    double seeds = 0.0;
    double drops = 0.0;
    for (const auto& [target, count] : targets) {
        seeds += static_cast<double>(target) * static_cast<double>(count);
        drops += target > 0 ? static_cast<double>(count) : 0.0;
    }
    return drops > 0.0 ? seeds / drops : 1.0;
}

std::int32_t index_at(const std::vector<Episode>& episodes, const Spot& spot) {
    for (std::size_t e = 0; e < episodes.size(); ++e)
        if (episodes[e].holds(spot))
            return static_cast<std::int32_t>(e);
    return -1;
}

std::int32_t rise_at(const std::vector<Episode>& episodes, const Spot& spot) {
    for (std::size_t e = 0; e < episodes.size(); ++e)
        if (episodes[e].run_up > 0 && episodes[e].run_up_from <= spot && spot < episodes[e].first)
            return static_cast<std::int32_t>(e);
    return -1;
}

} // namespace

bool RowJudge::comes_and_goes() const {
    return std::any_of(episodes.begin(), episodes.end(), [](const Episode& one) {
        return one.trace == Trace::intermittent || one.trace == Trace::together;
    });
}

RowWork::RowWork(const Field& field, const std::vector<LineKey>& lines, const JudgeOptions& options)
    : options_(&options) {
    const Course course = course_of(field, lines);
    judge_.row = course.row;
    judge_.efficiency = efficiency_for(options, course.row);
    judge_.ever_seen = course.silent < course.drops;
    const Pieces pieces = background_of(course);
    const SilenceFit fit = fit_silence(course, pieces);
    episodes_ = {course.row, episodes_of(course, pieces, fit)};
    judge_.drift = drift_of(course, pieces, episodes_.episodes);
    if (!judge_.drift.changes)
        judge_.stuck = stuck_for_a_while(course, episodes_.episodes);
    judge_.start_loss = course.start_loss;
    judge_.bad_cell = course.bad_cell;
    judge_.quiet_share = judge_.drift.lengths.empty() ? pieces.quiet : judge_.drift.least;
    targets_ = course.targets;
    drops_ = course.drops;
    seeds_per_drop_ = seeds_of(targets_);
    for (const PassCourse& pass : course.passes)
        judge_.blocked |= pass.blocked;
    keep_silent(course, pieces);
    count_background(course);
    note_portions(field, lines);
}

void RowWork::keep_silent(const Course& course, const Pieces& pieces) {
    for (std::size_t p = 0; p < course.passes.size(); ++p) {
        const PassCourse& pass = course.passes[p];
        PassDrops kept{pass.key, pass.blocked, {}, {}};
        const std::vector<float> shares = pieces.along(p, pass.size());
        for (std::size_t i = 0; i < pass.size(); ++i) {
            if (pass.silent[i] == 0)
                continue;
            SilentDrop drop;
            drop.episode = index_at(episodes_.episodes, {p, i});
            drop.run_up = drop.episode < 0 ? rise_at(episodes_.episodes, {p, i}) : -1;
            drop.share = shares[i];
            drop.apart = pass.apart_at(i);
            drop.drop = pass.first_drop + pass.drop[i];
            kept.silent.push_back(drop);
        }
        passes_.push_back(std::move(kept));
    }
}

// Adds a pass's drops outside of episodes to what they are apart from the others by.
void RowWork::count_background(const PassCourse& pass, std::size_t p, Background& start,
                               Background& cell) {
    for (std::size_t i = 0; i < pass.size(); ++i) {
        const Apart apart = pass.apart_at(i);
        if (index_at(episodes_.episodes, {p, i}) >= 0 || rise_at(episodes_.episodes, {p, i}) >= 0)
            continue;
        Background& sum = apart == Apart::start  ? start
                          : apart == Apart::cell ? cell
                                                 : passes_[p].steady;
        sum.drops += 1.0;
        sum.silent += pass.silent[i];
    }
}

void RowWork::count_background(const Course& course) {
    Background start;
    Background cell;
    for (std::size_t p = 0; p < course.passes.size(); ++p) {
        count_background(course.passes[p], p, start, cell);
        all_.drops += passes_[p].steady.drops;
        all_.silent += passes_[p].steady.silent;
    }
    for (const Length& one : judge_.drift.lengths)
        if (is_quiet(one.share(), judge_.quiet_share)) {
            quiet_.drops += one.chances;
            quiet_.silent += one.onsets;
        }
    start_share_ = start.drops > 0.0 ? start.silent / start.drops : 0.0;
    cell_share_ = cell.drops > 0.0 ? cell.silent / cell.drops : 0.0;
    judge_.silent_share = all_.drops > 0.0 ? all_.silent / all_.drops : 0.0;
}

// f, averaged over the drops' targets.
double RowWork::overlooked_share(double efficiency) const {
    double sum = 0.0;
    double drops = 0.0;
    for (const auto& [target, count] : targets_) {
        if (target == 0)
            continue;
        sum += static_cast<double>(count) * std::pow(1.0 - efficiency, static_cast<double>(target));
        drops += static_cast<double>(count);
    }
    return drops > 0.0 ? sum / drops : 0.0;
}

StatedGate RowWork::stated_gate() const {
    constexpr int nodes = 9;
    constexpr double trust_in_record = 0.99; // dated, with its interval
    constexpr double trust_in_word = 0.9;
    constexpr double round_off = 0.012; // of a share said without interval
    GateEfficiency stated = *judge_.efficiency;
    StatedGate gate{{}, stated.source.empty() ? trust_in_word : trust_in_record};
    if (stated.source.empty()) {
        stated.low = std::max(0.0, stated.value - round_off);
        stated.high = std::min(1.0, stated.value + round_off);
    }
    for (int i = 0; i < nodes; ++i) { // each side of the interval is normal by itself
        const double z =
            statistics::normal_quantile((i + 0.5) / nodes) / statistics::normal_quantile(0.975);
        const double half = z < 0.0 ? stated.value - stated.low : stated.high - stated.value;
        gate.overlooked.push_back(overlooked_share(std::clamp(stated.value + z * half, 1e-6, 1.0)));
    }
    return gate;
}

bool RowWork::changes() const {
    return judge_.drift.changes ||
           (judge_.comes_and_goes() && options_->assumption != Assumption::cables_sound);
}

// The stated efficiency holds as far as the row agrees with it.
void RowWork::state_chance() {
    if (!judge_.efficiency)
        return;
    const StatedGate gate = stated_gate();
    const Background& counts = judge_.drift.changes ? quiet_ : all_;
    const auto n = static_cast<std::int64_t>(std::llround(counts.drops));
    const auto x = std::clamp<std::int64_t>(std::llround(counts.silent), 0, n);
    const double least = *std::min_element(gate.overlooked.begin(), gate.overlooked.end());
    if (n > 0 && statistics::binomial_cdf(x, {n, std::min(least, 0.999)}) < 1e-4) {
        judge_.efficiency_use = EfficiencyUse::too_seeing;
        return;
    }
    single_ = chance_of(counts, gate);
    constexpr double doubt = 0.75; // three to one
    judge_.efficiency_use = changes()                ? EfficiencyUse::too_silent
                            : single_->holds < doubt ? EfficiencyUse::doubted
                                                     : EfficiencyUse::holds;
    if (judge_.efficiency_use == EfficiencyUse::too_silent)
        return;
    judge_.when_silent = single_->chance;
    judge_.missing_when_silent = single_->chance.best;
}

void RowWork::look_whether_stuck(double others) {
    if (const auto all_night = stuck_all_night(all_, others))
        judge_.stuck = all_night;
}

void RowWork::compare(Neighbours neighbours) {
    if (judge_.efficiency || !judge_.ever_seen)
        return;
    neighbours.missing_if_gates_alike = missing_when_silent(all_, neighbours.least_silent_most);
    neighbours.missing_if_meters_alike =
        all_.silent > 0.0 ? std::min(1.0, neighbours.least_silent_most * all_.drops / all_.silent)
                          : 1.0;
    judge_.neighbours = neighbours;
    if (options_->assumption == Assumption::gates_alike)
        judge_.when_silent = {neighbours.missing_if_gates_alike, 1.0};
    if (options_->assumption == Assumption::meters_alike)
        judge_.when_silent = {0.0, neighbours.missing_if_meters_alike};
}

Chance RowWork::episode_chance(const Episode& episode) const {
    if (const auto missing = looks_->missing(episode.look))
        return *missing ? Chance{0.9, 1.0, 0.97} : Chance{0.0, 0.1, 0.03};
    return trace_chance(episode.trace);
}

Chance RowWork::trace_chance(Trace trace) const {
    const bool sound = options_->assumption == Assumption::cables_sound;
    switch (trace) {
    case Trace::gave_out:
        return {0.9, 1.0, 0.94};
    case Trace::stopped:
        return {0.9, 1.0, sound ? 0.97 : 0.95};
    case Trace::burst:
        return {0.9, 1.0, sound ? 0.97 : 0.92};
    case Trace::intermittent:
        return sound ? Chance{0.9, 1.0, 0.96} : cannot_tell;
    case Trace::together:
    case Trace::faded:
    case Trace::trickled:
    case Trace::from_first:
    case Trace::never_seen:
        return cannot_tell;
    }
    throw BrokenInvariant("a trace that is not judged");
}

// What such drops are silent beyond the others is the meter's.
Chance RowWork::apart_chance(const SilentDrop& drop) const {
    constexpr double most = 0.985;
    const double here = drop.apart == Apart::start ? start_share_ : cell_share_;
    const double others = std::max(judge_.silent_share, 0.0);
    const double excess =
        here > 0.0
            ? std::clamp((here - others) / (here * (1.0 - std::min(others, 0.99))), 0.0, most)
            : 0.0;
    return {excess, std::max(most, excess), excess};
}

Chance RowWork::steady_chance(const SilentDrop& drop) const {
    if (singles_found_ && !judge_.drift.changes)
        return *singles_found_;
    if (judge_.efficiency && judge_.efficiency_use != EfficiencyUse::too_silent)
        return judge_.when_silent;
    if (!judge_.efficiency)
        return judge_.when_silent; // under an assumption, or 0 to 1
    const bool quiet_here = judge_.drift.changes && !judge_.comes_and_goes() &&
                            is_quiet(static_cast<double>(drop.share), judge_.quiet_share);
    return quiet_here && single_ ? single_->chance : cannot_tell;
}

Chance RowWork::drop_chance(const PassDrops& pass, const SilentDrop& drop) const {
    if (const auto share = found_at(pass.key, drop.drop))
        return {std::max(0.0, *share - 0.01), std::min(1.0, *share + 0.01),
                std::clamp(*share, 0.005, 0.995)};
    if (pass.blocked || (!judge_.efficiency && !judge_.ever_seen))
        return cannot_tell;
    if (drop.episode >= 0)
        return episode_chance(episodes_.episodes[static_cast<std::size_t>(drop.episode)]);
    if (drop.run_up >= 0) {
        const Episode& rises = episodes_.episodes[static_cast<std::size_t>(drop.run_up)];
        const Chance then = episode_chance(rises);
        if (!then.best)
            return cannot_tell;
        const double share = std::max(1e-3, static_cast<double>(drop.share));
        const double excess = std::clamp(1.0 - judge_.quiet_share / share, 0.0, 1.0);
        return {0.5 * excess, 1.0, *then.best * excess};
    }
    return drop.apart == Apart::no ? steady_chance(drop) : apart_chance(drop);
}

// What falls to chance: of n silent drops the gate overlooked about n(1 - p), give or take its root.
void RowWork::add_lost(const SilentDrop& drop, const Chance& chance) {
    Lost& lost = judge_.lost;
    if (drop.episode >= 0 && chance.best && *chance.best > 0.9) { // as a whole, or not at all
        lost.low += 0.98;
        lost.high += 1.0;
        return;
    }
    lost.low += chance.low;
    lost.high += chance.high;
    if (chance.best || chance.high - chance.low < 0.9)
        lost.variance += 1.0 - chance.best.value_or(chance.low);
}

void RowWork::settle_lost() {
    judge_.lost.low *= seeds_per_drop_;
    judge_.lost.high *= seeds_per_drop_;
    judge_.lost.variance *= seeds_per_drop_ * seeds_per_drop_;
}

void RowWork::judge(const LooksFound& looks, Judged& judged) {
    looks_ = &looks;
    judge_.episodes = episodes_.episodes;
    judge_.single_look = episodes_.single_look;
    state_chance();
    settle_singles();
    note_row();
    for (const PassDrops& pass : passes_) {
        judged.steady[pass.key] = pass.steady;
        std::vector<Chance>& chances = judged.silent[pass.key];
        std::vector<std::int32_t>& settled_by = judged.looks[pass.key];
        chances.reserve(pass.silent.size());
        settled_by.reserve(pass.silent.size());
        for (const SilentDrop& drop : pass.silent) {
            chances.push_back(drop_chance(pass, drop));
            settled_by.push_back(look_of(drop));
            add_lost(drop, chances.back());
        }
    }
    settle_lost();
    passes_.clear();
    passes_.shrink_to_fit();
    looks_ = nullptr;
}

} // namespace dropledger::field
