#include "analysis/audit/evidence_watch.hpp"

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
      single_(setup.mode == ledger::Mode::single) {
}

void EvidenceWatch::add(const ledger::Entry& entry) {
    ++found_.drops;
    found_.several_asked += single_ && entry.drop.target > 1 ? 1 : 0;
    silence_ = entry.seeds == 0 ? silence_ + 1 : 0;
    found_.longest_silence = std::max(found_.longest_silence, silence_);
    found_.misses += entry.seeds == 0 ? 1 : 0;
    found_.at_opening += entry.seeds > 0 && came_at_opening(entry) ? 1 : 0;
    if (entry.seeds > 1)
        add_multiple(entry);
    add_step(entry.drop);
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

std::int64_t coincidences(const DropEvidence& a, const DropEvidence& b) {
    constexpr std::int64_t same_us = 2;
    std::vector<std::int64_t> first = a.landed_us;
    std::vector<std::int64_t> second = b.landed_us;
    std::sort(first.begin(), first.end());
    std::sort(second.begin(), second.end());
    std::int64_t found = 0;
    auto at = second.begin();
    for (const std::int64_t time_us : first) {
        at = std::find_if(at, second.end(),
                          [&](std::int64_t other) { return other >= time_us - same_us; });
        if (at == second.end())
            break;
        if (*at > time_us + same_us)
            continue;
        ++found;
        ++at;
    }
    return found;
}

} // namespace dropledger::audit
