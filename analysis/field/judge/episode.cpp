#include "analysis/field/judge/episode.hpp"

#include "analysis/base/result.hpp"
#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace dropledger::field {

namespace {

constexpr std::int64_t least_lasting = 30; // drops; a shorter silence is a burst
constexpr std::int64_t longest_rise = 400; // drops over which a container may give out

constexpr std::int64_t narrow = 25; // drops of a step

struct Step { // drops of the night before a spot, some two dozen
    std::int64_t drops = 0;
    std::int64_t silent = 0;
    std::int64_t runs = 0; // of silent ones
    Spot from;
};

class Backwards {
public:
    Backwards(const Course& course, const Spot& spot) : course_(&course), spot_(spot) {}

    [[nodiscard]] Step next(std::int64_t drops) {
        Step step;
        step.from = spot_;
        while (step.drops < drops && go_back()) {
            step.from = spot_;
            const PassCourse& pass = course_->passes[spot_.pass];
            if (pass.apart_at(spot_.at) != Apart::no)
                continue;
            ++step.drops;
            step.silent += pass.silent[spot_.at];
            step.runs += pass.silent[spot_.at] != 0 && !silent_ ? 1 : 0;
            silent_ = pass.silent[spot_.at] != 0;
        }
        return step;
    }

private:
    [[nodiscard]] bool go_back() {
        while (spot_.at == 0) {
            if (spot_.pass == 0)
                return false;
            --spot_.pass;
            spot_.at = course_->passes[spot_.pass].size();
        }
        --spot_.at;
        return true;
    }

    const Course* course_;
    Spot spot_;
    bool silent_ = true; // the drop behind
};

// Drops of the row's night from behind one spot up to before another.
std::int64_t drops_between(const Course& course, const Spot& a, const Spot& b) {
    if (a.pass == b.pass)
        return static_cast<std::int64_t>(b.at - a.at) - 1;
    auto count = static_cast<std::int64_t>(course.passes[a.pass].size() - a.at) - 1 +
                 static_cast<std::int64_t>(b.at);
    for (std::size_t p = a.pass + 1; p < b.pass; ++p)
        count += static_cast<std::int64_t>(course.passes[p].size());
    return count;
}

// Where a gate sees less and less it is mostly silent in the end, singly: far more than in the row's
// quiet part.
bool half_blind(const Pieces& pieces, const Spot& spot) {
    constexpr double much = 0.25;
    return pieces.share_at(spot.pass, spot.at) > std::max(much, 4.0 * pieces.quiet);
}

// One or two long runs right before are silences of their own; a rise has more, short ones.
bool rises(const Course& course, const Pieces& pieces, const Spot& spot) {
    constexpr std::int64_t least_runs = 3;
    Backwards back(course, spot);
    const Step near = back.next(narrow);
    const Step behind = back.next(narrow);
    return near.runs + behind.runs >= least_runs || half_blind(pieces, spot);
}

// As long as steps of so many drops are far more silent than the quiet part.
void extend_run_up(const Course& course, double quiet, std::int64_t drops, Episode& episode) {
    constexpr double beyond_chance = 1e-3;
    Backwards back(course, episode.run_up_from);
    for (;;) {
        const Step step = back.next(drops);
        const double share = std::clamp(1.5 * quiet, 0.004, 0.95);
        if (step.drops == 0 || step.silent < 2 ||
            statistics::binomial_sf(step.silent - 1, {step.drops, share}) > beyond_chance)
            return;
        episode.run_up += step.drops;
        episode.run_up_from = step.from;
    }
}

// Silence that grew before the episode: at once, and before that slowly.
void measure_run_up(const Course& course, const Pieces& pieces, Episode& episode) {
    constexpr std::int64_t wide = 100; // drops
    episode.run_up_from = episode.first;
    if (!rises(course, pieces, episode.first))
        return;
    extend_run_up(course, pieces.quiet, narrow, episode);
    if (episode.run_up > 0)
        extend_run_up(course, pieces.quiet, wide, episode);
}

Episode episode_of(const Course& course, const Outage& outage) {
    const PassCourse& pass = course.passes[outage.pass];
    Episode episode;
    episode.first = {outage.pass, outage.begin};
    episode.last = {outage.pass, outage.end - 1};
    episode.first_key = episode.last_key = pass.key;
    episode.first_drop = pass.first_drop + pass.drop[outage.begin];
    episode.last_drop = pass.first_drop + pass.drop[outage.end - 1];
    episode.drops = static_cast<std::int64_t>(outage.end - outage.begin);
    episode.silent = outage.silent;
    return episode;
}

bool goes_on(const Course& course, const Episode& before, const Episode& after) {
    constexpr std::int64_t few = 3;
    return drops_between(course, before.last, after.first) <= few;
}

void append(const Course& course, const Episode& after, Episode& before) {
    before.drops += after.drops + drops_between(course, before.last, after.first);
    before.silent += after.silent;
    before.over_pass_end |= before.last.pass != after.last.pass;
    before.last = after.last;
    before.last_key = after.last_key;
    before.last_drop = after.last_drop;
}

std::vector<Episode> joined(const Course& course, const SilenceFit& fit) {
    std::vector<Episode> episodes;
    for (const Outage& outage : fit.outages) {
        const Episode one = episode_of(course, outage);
        if (!episodes.empty() && goes_on(course, episodes.back(), one))
            append(course, one, episodes.back());
        else
            episodes.push_back(one);
    }
    return episodes;
}

// Outages within the rise of a longer one are part of that rise.
void absorb_rises(const Course& course, const Pieces& pieces, std::vector<Episode>& episodes) {
    for (std::size_t i = episodes.size(); i-- > 0;) {
        measure_run_up(course, pieces, episodes[i]);
        while (i > 0 && episodes[i].run_up > 0 && episodes[i - 1].last >= episodes[i].run_up_from &&
               episodes[i - 1].drops * 2 < episodes[i].drops) {
            if (episodes[i - 1].first < episodes[i].run_up_from) {
                episodes[i].run_up_from = episodes[i - 1].first;
                episodes[i].run_up =
                    drops_between(course, episodes[i - 1].first, episodes[i].first) + 1;
            }
            episodes.erase(episodes.begin() + static_cast<std::ptrdiff_t>(i - 1));
            --i;
        }
    }
}

// Where nothing falls nothing is seen but a speck now and then; a gate that is all but blind, or seed
// that trickles, shows more. One in 1,000 is our own figure; a single one may belong to an end.
bool shows_seeds(const Episode& one) {
    constexpr double specks = 0.001;
    constexpr double beyond_chance = 0.05;
    const std::int64_t seen = one.drops - one.silent;
    return seen > 1 && statistics::binomial_sf(seen - 1, {one.drops, specks}) < beyond_chance;
}

bool begins_row(const Course& course, const Episode& episode) {
    constexpr std::int64_t few = 3;
    return episode.first.at == 0 ? episode.first.pass == 0
                                 : drops_between(course, {}, episode.first) < few;
}

bool ends_row(const Course& course, const Episode& episode) {
    const Spot end{course.passes.size() - 1, course.passes.back().size()};
    constexpr std::int64_t few = 3;
    return drops_between(course, episode.last, end) <= few;
}

// A gate going blind still sees some, and for long; a container gives out within some hundred drops.
Trace trace_of_rise(const Episode& one, bool one_of_many) {
    if (one_of_many)
        return Trace::intermittent;
    const bool wholly = 100 * one.silent >= 95 * one.drops;
    return one.run_up <= longest_rise && wholly && one.drops >= least_lasting ? Trace::gave_out
                                                                              : Trace::faded;
}

// Of one that came of a sudden, the only such one of the row.
Trace trace_of_sudden(const Episode& one) {
    if (shows_seeds(one))
        return Trace::trickled;
    if (one.drops < least_lasting)
        return Trace::burst;
    return one.from_row_begin ? Trace::from_first : Trace::stopped;
}

void name_traces(std::vector<Episode>& episodes) {
    std::int64_t sudden = 0;
    std::int64_t longest_sudden = 0;
    for (const Episode& one : episodes)
        if (one.run_up == 0) {
            ++sudden;
            longest_sudden = std::max(longest_sudden, one.drops);
        }
    for (Episode& one : episodes) {
        if (one.run_up > 0)
            one.trace = trace_of_rise(one, sudden > 1 && one.drops < 4 * longest_sudden);
        else
            one.trace = sudden > 1 ? Trace::intermittent : trace_of_sudden(one);
    }
}

bool same_drops(const Episode& a, const Episode& b) {
    constexpr std::int64_t few = 3;
    return a.first_key.pass == b.first_key.pass && a.last_key.pass == b.last_key.pass &&
           std::abs(a.first_drop - b.first_drop) <= few &&
           std::abs(a.last_drop - b.last_drop) <= few;
}

} // namespace

std::string_view key_of(Trace trace) {
    switch (trace) {
    case Trace::gave_out:
        return "gave_out";
    case Trace::faded:
        return "faded";
    case Trace::stopped:
        return "stopped";
    case Trace::burst:
        return "burst";
    case Trace::intermittent:
        return "intermittent";
    case Trace::together:
        return "together";
    case Trace::trickled:
        return "trickled";
    case Trace::from_first:
        return "from_first";
    case Trace::never_seen:
        return "never_seen";
    }
    throw BrokenInvariant("a trace without a name");
}

std::vector<Episode> episodes_of(const Course& course, const Pieces& pieces,
                                 const SilenceFit& fit) {
    std::vector<Episode> episodes = joined(course, fit);
    absorb_rises(course, pieces, episodes);
    for (Episode& one : episodes) {
        one.from_row_begin = begins_row(course, one);
        one.to_row_end = ends_row(course, one);
    }
    name_traces(episodes);
    if (course.silent == course.drops)
        for (Episode& one : episodes)
            one.trace = Trace::never_seen;
    return episodes;
}

namespace {

struct OfRow {
    std::int64_t row = 0;
    Episode* episode = nullptr;
};

void add_rows_beside(Episode& one, std::int64_t row, const std::vector<OfRow>& of_pass) {
    for (const OfRow& other : of_pass)
        if (other.row != row && same_drops(one, *other.episode))
            one.other_rows.push_back(other.row);
}

} // namespace

void find_together(std::vector<RowEpisodes*>& rows) {
    std::map<std::int64_t, std::vector<OfRow>> by_pass;
    for (RowEpisodes* const row : rows)
        for (Episode& one : row->episodes)
            by_pass[one.first_key.pass].push_back({row->row, &one});
    for (const auto& [pass, all] : by_pass)
        for (const OfRow& one : all)
            add_rows_beside(*one.episode, one.row, all);
    for (RowEpisodes* const row : rows)
        for (Episode& one : row->episodes)
            if (!one.other_rows.empty() && one.trace != Trace::never_seen)
                one.trace = Trace::together;
}

} // namespace dropledger::field
