#include "analysis/audit/doubt/evidence_watch.hpp"

#include <algorithm>
#include <cstdlib>

namespace dropledger::audit {

namespace {

bool apart(std::int64_t value, std::int64_t from, std::int64_t parts) {
    return parts * std::abs(value - from) > from;
}

} // namespace

EvidenceWatch::EvidenceWatch(const ledger::RunSetup& setup)
    : spacing_um_(setup.spacing_um.value_or(0)), speed_um_s_(setup.speed_um_s.value_or(0)),
      count_(setup.mode == ledger::Mode::single ? std::optional<std::uint32_t>{1} : setup.count) {
}

void EvidenceWatch::add(const ledger::Entry& entry) {
    ++found_.drops;
    found_.other_count += count_ && entry.drop.target != *count_ ? 1 : 0;
    silence_ = entry.seeds == 0 ? silence_ + 1 : 0;
    found_.longest_silence = std::max(found_.longest_silence, silence_);
    found_.misses += entry.seeds == 0 ? 1 : 0;
    found_.at_opening += entry.seeds > 0 && came_at_opening(entry) ? 1 : 0;
    found_.asked += entry.drop.target;
    add_delay(entry);
    close_pulses(entry.seeds > entry.drop.target);
    if (entry.seeds > 1)
        add_multiple(entry);
    add_step(entry.drop);
}

// All pulses since the last drop were assigned to this one.
void EvidenceWatch::close_pulses(bool in_excess) {
    if (in_excess && found_.landed_us.size() < landings_kept)
        found_.excess.push_back(pulses_us_);
    pulses_us_ = none;
}

// Two seeds in one pulse, by a classifier, are no distance apart.
void EvidenceWatch::add_multiple(const ledger::Entry& entry) {
    const std::int64_t length_um = entry.last_um - entry.first_um;
    ++found_.multiples;
    found_.far_multiples += 4 * length_um > spacing_um_ ? 1 : 0;
    found_.close_multiples += length_um > 0 && 1000 * length_um <= speed_um_s_ ? 1 : 0;
}

// From the valve to any gate a seed takes longer, and one that waits over the valve came before.
bool EvidenceWatch::came_at_opening(const ledger::Entry& entry) const {
    constexpr std::int64_t at_once_us = 1'000;
    const auto just_after = [&](const ledger::Commanded& drop) {
        const std::int64_t later_us = entry.first_time_us - drop.time_us;
        return later_us >= 0 && later_us <= at_once_us;
    };
    return just_after(entry.drop) || (last_ && just_after(*last_));
}

// Whatever offset the places fit: no seed comes before its valve opens, and none is on its way to a
// gate for longer than a fall of almost two metres takes while another opening lies between.
void EvidenceWatch::add_delay(const ledger::Entry& entry) {
    constexpr std::int64_t clearly_us = 5'000;
    constexpr std::int64_t longest_way_us = 600'000;
    const bool follows =
        last_ && last_->start == entry.drop.start && entry.drop.index == last_->index + 1;
    if (follows && last_seed_us_ && *last_seed_us_ > entry.drop.time_us &&
        *last_seed_us_ - last_->time_us > longest_way_us)
        ++found_.behind_the_next;
    last_seed_us_.reset();
    if (entry.seeds == 0)
        return;
    last_seed_us_ = entry.first_time_us;
    found_.before_opening += entry.first_time_us < entry.drop.time_us - clearly_us ? 1 : 0;
}

void EvidenceWatch::add_in_line(const ledger::Landing& landing) {
    constexpr std::int64_t one_seed_us = 1'000;
    LineEvidence& line = found_.line;
    ++line.landings;
    if (last_in_line_) {
        const std::int64_t later_us = landing.time_us - last_in_line_->time_us;
        line.close += std::abs(later_us) <= one_seed_us ? 1 : 0;
        line.took_us += later_us;
        line.way_um += landing.position_um - last_in_line_->position_um;
    }
    last_in_line_ = landing;
    add_landing(landing.time_us);
}

void EvidenceWatch::add_step(const ledger::Commanded& drop) {
    constexpr std::int64_t us_per_s = 1'000'000;
    if (last_ && last_->start == drop.start && drop.index == last_->index + 1 &&
        drop.time_us > last_->time_us) {
        CommandedSteps& steps = found_.steps;
        const std::int64_t way_um = std::abs(drop.position_um - last_->position_um);
        const std::int64_t took_us = drop.time_us - last_->time_us;
        ++steps.count;
        steps.way_um += way_um;
        steps.duration_us += took_us;
        steps.other_spacing += apart(way_um, spacing_um_, 50) ? 1 : 0;
        steps.other_speed +=
            speed_um_s_ > 0 && apart(way_um * us_per_s / took_us, speed_um_s_, 4) ? 1 : 0;
    }
    last_ = drop;
}

void EvidenceWatch::segment_ended() {
    last_.reset();
    last_seed_us_.reset();
    last_in_line_.reset();
}

namespace {

// What lies between each of the first times and the nearest of the second, where it is short.
std::vector<std::int64_t> lags_us(std::vector<std::int64_t> first,
                                  std::vector<std::int64_t> second) {
    constexpr std::int64_t longest_us = 5'000;
    std::sort(first.begin(), first.end());
    std::sort(second.begin(), second.end());
    std::vector<std::int64_t> lags;
    for (const std::int64_t time_us : first) {
        const auto after = std::lower_bound(second.begin(), second.end(), time_us);
        std::int64_t nearest = longest_us + 1;
        if (after != second.end())
            nearest = *after - time_us;
        if (after != second.begin() && time_us - *(after - 1) < std::abs(nearest))
            nearest = *(after - 1) - time_us;
        if (std::abs(nearest) <= longest_us)
            lags.push_back(nearest);
    }
    std::sort(lags.begin(), lags.end());
    return lags;
}

} // namespace

Coincidences coincidences(const DropEvidence& a, const DropEvidence& b) {
    constexpr std::int64_t same_us = 2; // either way
    const std::vector<std::int64_t> lags = lags_us(a.landed_us, b.landed_us);
    Coincidences found;
    auto end = lags.begin();
    for (auto begin = lags.begin(); begin != lags.end(); ++begin) {
        while (end != lags.end() && *end - *begin <= 2 * same_us)
            ++end;
        if (end - begin > found.seeds)
            found = {.seeds = end - begin, .lag_us = *(begin + (end - begin) / 2)};
    }
    return found;
}

namespace {

// Whether any of the sorted times is as near as one edge of a pulse picked up by another cable.
bool is_heard(const std::vector<std::int64_t>& sorted_us, std::int64_t time_us) {
    constexpr std::int64_t at_once_us = 200;
    const auto at = std::lower_bound(sorted_us.begin(), sorted_us.end(), time_us - at_once_us);
    return at != sorted_us.end() && *at <= time_us + at_once_us;
}

} // namespace

Overheard overheard(const DropEvidence& one, const DropEvidence& other) {
    std::vector<std::int64_t> theirs_us = other.landed_us;
    std::sort(theirs_us.begin(), theirs_us.end());
    if (theirs_us.empty())
        return {};
    Overheard found;
    std::int64_t pulses = 0; // at both ends of the drops in excess
    for (const Excess& drop : one.excess) {
        if (drop.last_us > theirs_us.back())
            continue;
        const bool first = is_heard(theirs_us, drop.first_us);
        const bool last = is_heard(theirs_us, drop.last_us);
        ++found.drops;
        found.heard += first || last ? 1 : 0;
        pulses += (first ? 1 : 0) + (last ? 1 : 0);
    }
    const auto all = std::count_if(one.landed_us.begin(), one.landed_us.end(),
                                   [&](std::int64_t time) { return is_heard(theirs_us, time); });
    const auto others =
        static_cast<double>(one.landed_us.size()) - 2.0 * static_cast<double>(one.excess.size());
    if (others > 0.0) {
        const double share = std::clamp(static_cast<double>(all - pulses) / others, 0.0, 1.0);
        found.by_chance = 1.0 - (1.0 - share) * (1.0 - share);
    }
    return found;
}

} // namespace dropledger::audit
