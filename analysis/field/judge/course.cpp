#include "analysis/field/judge/course.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace dropledger::field {

namespace {

PassCourse pass_of(const Field& field, const LineKey& key, Course& course) {
    const auto drops = field.lines.at(key).drops();
    PassCourse pass;
    pass.key = key;
    pass.blocked = field.gate_blocked.contains(key);
    pass.begins_s = drops.front().time_s;
    pass.first_drop = drops.front().drop;
    pass.silent.reserve(drops.size());
    pass.drop.reserve(drops.size());
    for (const FieldDrop& drop : drops) {
        pass.silent.push_back(drop.silent() ? 1 : 0);
        pass.drop.push_back(static_cast<std::int32_t>(drop.drop - pass.first_drop));
        course.silent += drop.silent() ? 1 : 0;
        const auto known = std::find_if(course.targets.begin(), course.targets.end(),
                                        [&](const auto& one) { return one.first == drop.target; });
        if (known != course.targets.end())
            ++known->second;
        else if (course.targets.size() < 1000)
            course.targets.emplace_back(drop.target, 1);
    }
    course.drops += static_cast<std::int64_t>(drops.size());
    return pass;
}

std::size_t silent_at_start(const PassCourse& pass) {
    std::size_t i = 0;
    while (i < pass.size() && pass.silent[i] != 0)
        ++i;
    return i;
}

// Silent drops over drops, of those behind a seen one: what bursts leave alone.
double onset_share(const Course& course) {
    double onsets = 0.0;
    double chances = 0.0;
    for (const PassCourse& pass : course.passes)
        for (std::size_t i = 1; i < pass.size(); ++i) {
            chances += pass.silent[i - 1] == 0 ? 1.0 : 0.0;
            onsets += pass.silent[i - 1] == 0 && pass.silent[i] != 0 ? 1.0 : 0.0;
        }
    return (onsets + 0.5) / (chances + 1.0);
}

// How many first drops are silent in far more passes than drops elsewhere.
struct StartCounts {
    static constexpr std::size_t looked_at = 40;
    std::array<std::int64_t, looked_at> silent{};
    std::int64_t passes = 0;
    std::int64_t begun_silent = 0;

    explicit StartCounts(const Course& course) {
        for (const PassCourse& pass : course.passes) {
            const std::size_t at_start = silent_at_start(pass);
            if (at_start >= looked_at || pass.size() < looked_at)
                continue; // an outage that runs on, or a headland's
            ++passes;
            begun_silent += at_start > 0 ? 1 : 0;
            for (std::size_t i = 0; i < looked_at; ++i)
                silent[i] += pass.silent[i];
        }
    }

    [[nodiscard]] std::size_t zone(double background) const {
        const double least = std::max(0.15, 4.0 * background) * static_cast<double>(passes);
        std::size_t end = 0;
        while (end < looked_at && static_cast<double>(silent[end]) >= least)
            ++end;
        return end;
    }
};

void find_start_loss(Course& course) {
    constexpr std::int64_t least_passes = 4;
    constexpr double beyond_chance = 2e-4;
    const StartCounts counts(course);
    const double background = onset_share(course);
    const std::size_t zone = counts.zone(background);
    if (counts.passes < least_passes || zone == 0 || zone >= StartCounts::looked_at)
        return;
    StartLoss loss;
    loss.drops = static_cast<std::int64_t>(zone);
    loss.passes = counts.passes;
    loss.passes_begun_silent = counts.begun_silent;
    for (std::size_t i = 0; i < zone; ++i)
        loss.silent += counts.silent.at(i);
    loss.drops_looked_at = loss.drops * counts.passes;
    loss.p_value = statistics::binomial_sf(counts.silent.front() - 1, {counts.passes, background});
    if (loss.p_value > beyond_chance || counts.silent.front() < 3)
        return;
    for (PassCourse& pass : course.passes) {
        if (silent_at_start(pass) >= StartCounts::looked_at)
            continue;
        pass.apart.resize(pass.size(), Apart::no);
        std::fill_n(pass.apart.begin(), std::min(zone, pass.size()), Apart::start);
    }
    course.start_loss = loss;
}

// Whether a silent drop is neither at the start nor part of a run that a cell cannot make.
bool may_be_cell(const PassCourse& pass, std::size_t i) {
    constexpr std::size_t longest = 4;
    if (pass.silent[i] == 0 || pass.apart_at(i) != Apart::no)
        return false;
    std::size_t run = 1;
    for (std::size_t j = i; j-- > 0 && pass.silent[j] != 0 && run <= longest;)
        ++run;
    for (std::size_t j = i + 1; j < pass.size() && pass.silent[j] != 0 && run <= longest; ++j)
        ++run;
    return run <= longest;
}

struct CellInPass {
    std::int64_t residue = 0;
    double hits = 0.0;
    double drops = 0.0;
    double evidence = 0.0; // log of how much likelier the pass is with some bad cell of so many
};

// How much likelier the hits are where a cell leaves out a half, three quarters or nearly all of
// its seeds, against the share elsewhere.
double likelier(double hits, double drops, double share) {
    constexpr std::array left_out{0.5, 0.75, 0.95};
    double sum = 0.0;
    for (const double one : left_out)
        sum += std::exp(hits * std::log(one / share) +
                        (drops - hits) * std::log((1.0 - one) / (1.0 - share)));
    return sum / static_cast<double>(left_out.size());
}

// Silent drops of a pass that a bad cell may have made, and how many drops they are of.
struct Candidates {
    std::vector<std::int32_t> drops;
    double all = 0.0;
    std::int32_t last = 0;
};

Candidates candidates_of(const PassCourse& pass) {
    Candidates found;
    for (std::size_t i = 0; i < pass.size(); ++i)
        if (may_be_cell(pass, i))
            found.drops.push_back(pass.drop[i]);
    found.all = static_cast<double>(pass.size());
    found.last = pass.drop.empty() ? 0 : pass.drop.back();
    return found;
}

// Averaged over all residues, so that chance alone makes it 1 on average, however many there are.
CellInPass best_residue(const Candidates& pass, std::int64_t cells) {
    std::vector<double> hits(static_cast<std::size_t>(cells), 0.0);
    for (const std::int32_t drop : pass.drops)
        hits[static_cast<std::size_t>(drop % cells)] += 1.0;
    const auto most = std::max_element(hits.begin(), hits.end());
    CellInPass best;
    best.residue = most - hits.begin();
    best.hits = *most;
    best.drops = std::max(best.hits, pass.all / static_cast<double>(cells));
    const double share = std::clamp((static_cast<double>(pass.drops.size()) - best.hits + 0.5) /
                                        std::max(1.0, pass.all),
                                    0.002, 0.4);
    double sum = 0.0;
    for (const double one : hits)
        sum += likelier(one, std::max(one, best.drops), share);
    best.evidence = std::log(std::max(1e-300, sum / static_cast<double>(cells)));
    return best;
}

struct Periods {
    static constexpr std::int64_t shortest = 5;
    static constexpr std::int64_t longest = 72;
};

bool shows(const CellInPass& one) {
    return one.evidence > 1.0 && one.hits >= 2.0;
}

// A bad cell shows in nearly all passes; each has its own residue.
std::optional<std::pair<std::int64_t, double>> best_period(const std::vector<Candidates>& passes) {
    constexpr double needed = 13.0; // beyond e^-13 by Markov's inequality, over some 70 periods
    constexpr double does_not_show = 0.1;
    std::optional<std::pair<std::int64_t, double>> best;
    for (std::int64_t cells = Periods::shortest; cells <= Periods::longest; ++cells) {
        double gain = 0.0;
        for (const Candidates& pass : passes)
            gain += std::log(does_not_show +
                             (1.0 - does_not_show) * std::exp(best_residue(pass, cells).evidence));
        if (gain > needed && (!best || gain > best->second))
            best = {cells, gain};
    }
    return best;
}

void mark_cell(PassCourse& pass, const CellInPass& cell, std::int64_t cells) {
    pass.apart.resize(pass.size(), Apart::no);
    for (std::size_t i = 0; i < pass.size(); ++i)
        if (pass.drop[i] % cells == cell.residue && pass.apart[i] == Apart::no)
            pass.apart[i] = Apart::cell;
}

void find_bad_cell(Course& course) {
    std::vector<Candidates> passes;
    for (const PassCourse& pass : course.passes)
        passes.push_back(candidates_of(pass));
    const auto period = best_period(passes);
    if (!period)
        return;
    BadCell found;
    found.cells = period->first;
    found.p_value = std::exp(-period->second) * static_cast<double>(Periods::longest);
    double best = 0.0;
    for (std::size_t p = 0; p < passes.size(); ++p) {
        const CellInPass one = best_residue(passes[p], found.cells);
        if (!shows(one))
            continue;
        ++found.passes;
        found.hits += std::llround(one.hits);
        found.drops += std::llround(one.drops);
        mark_cell(course.passes[p], one, found.cells);
        if (one.evidence > best) {
            best = one.evidence;
            found.shows_best = course.passes[p].key;
            found.residue = (one.residue + course.passes[p].first_drop) % found.cells;
        }
    }
    course.bad_cell = found;
}

} // namespace

std::map<std::int64_t, std::vector<LineKey>> lines_by_row(const Field& field) {
    std::map<std::int64_t, std::vector<LineKey>> rows;
    for (const auto& [key, line] : field.lines)
        rows[key.row].push_back(key);
    return rows;
}

Course course_of(const Field& field, const std::vector<LineKey>& lines) {
    Course course;
    course.row = lines.front().row;
    for (const LineKey& key : lines)
        course.passes.push_back(pass_of(field, key, course));
    if (field.has_time)
        std::stable_sort(
            course.passes.begin(), course.passes.end(),
            [](const PassCourse& a, const PassCourse& b) { return a.begins_s < b.begins_s; });
    find_start_loss(course);
    find_bad_cell(course);
    return course;
}

} // namespace dropledger::field
