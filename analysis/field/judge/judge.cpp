#include "analysis/field/judge/judge.hpp"

#include "analysis/causes/period_scan.hpp"
#include "analysis/field/judge/silent_chance.hpp"
#include "analysis/statistics/basics/distributions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

using Line = std::pair<LineKey, const std::vector<FieldDrop>*>;

std::map<std::int64_t, std::vector<Line>> lines_by_row(const Field& field) {
    std::map<std::int64_t, std::vector<Line>> rows;
    for (const auto& [key, line] : field.lines)
        rows[key.row].emplace_back(key, &line);
    return rows;
}

std::vector<Silence> silences(const std::vector<Line>& lines) {
    std::vector<Silence> passes;
    passes.reserve(lines.size());
    for (const Line& line : lines) {
        Silence& pass = passes.emplace_back();
        pass.reserve(line.second->size());
        for (const FieldDrop& drop : *line.second)
            pass.push_back(drop.silent() ? 1 : 0);
    }
    return passes;
}

// Silent drops and drops outside outages, by pass, at the bad cell or everywhere else.
std::vector<Background> backgrounds(const std::vector<Silence>& passes, const SilenceFit& fit,
                                    const std::vector<Silence>& cells, bool bad_cell) {
    std::vector<Background> all(passes.size());
    for (std::size_t p = 0; p < passes.size(); ++p)
        for (std::size_t i = 0; i < passes[p].size(); ++i) {
            if ((!cells[p].empty() && cells[p][i] != 0) != bad_cell)
                continue;
            const double steady = fit.out.empty() ? 1.0 : 1.0 - static_cast<double>(fit.out[p][i]);
            all[p].drops += steady;
            all[p].silent += passes[p][i] != 0 ? steady : 0.0;
        }
    return all;
}

Background sum_of(const std::vector<Background>& all) {
    Background sum;
    for (const Background& one : all) {
        sum.silent += one.silent;
        sum.drops += one.drops;
    }
    return sum;
}

// Which drops stand at a residue of the drop index that silence gathers at (a bad cell); empty
// where none does. The residue may differ from pass to pass; only what no chance explains counts.
Silence at_bad_cell(const std::vector<FieldDrop>& line, const Silence& pass) {
    constexpr double beyond_chance = 1e-6;
    if (std::count(pass.begin(), pass.end(), std::uint8_t{1}) < 3)
        return {};
    causes::PeriodScan scan(std::nullopt);
    for (std::size_t i = 0; i < pass.size(); ++i)
        scan.add(line[i].drop, pass[i] != 0);
    const auto found = scan.strongest();
    if (!found || found->p_value > beyond_chance)
        return {};
    Silence marked;
    for (const FieldDrop& drop : line)
        marked.push_back(drop.drop % found->cells == found->residue ? 1 : 0);
    return marked;
}

// Chi-square test that all passes share one background; expected counts under 5 make it void.
bool differ(const std::vector<Background>& all) {
    constexpr double level = 1e-3;
    const Background sum = sum_of(all);
    const double share = sum.drops > 0.0 ? sum.silent / sum.drops : 0.0;
    double chi_squared = 0.0;
    double classes = 0.0;
    for (const Background& one : all) {
        const double expected = one.drops * share;
        if (expected < 5.0 || share >= 1.0)
            continue;
        chi_squared +=
            (one.silent - expected) * (one.silent - expected) / (expected * (1.0 - share));
        classes += 1.0;
    }
    return classes >= 2.0 && statistics::chi_squared_sf(chi_squared, classes - 1.0) < level;
}

std::vector<Silence> bad_cells(const std::vector<Line>& lines, const std::vector<Silence>& passes) {
    std::vector<Silence> cells;
    for (std::size_t p = 0; p < passes.size(); ++p)
        cells.push_back(at_bad_cell(*lines[p].second, passes[p]));
    return cells;
}

// f, averaged over the drops' targets.
double overlooked_share(const std::vector<Line>& lines, double efficiency) {
    double sum = 0.0;
    double drops = 0.0;
    for (const Line& line : lines)
        for (const FieldDrop& drop : *line.second) {
            if (drop.target == 0)
                continue;
            sum += std::pow(1.0 - efficiency, static_cast<double>(drop.target));
            drops += 1.0;
        }
    return drops > 0.0 ? sum / drops : 0.0;
}

Overlooked overlooked_by(const std::vector<Line>& lines, const GateEfficiency& efficiency) {
    constexpr int nodes = 9;
    if (efficiency.low == efficiency.value && efficiency.high == efficiency.value)
        return {overlooked_share(lines, efficiency.value)};
    Overlooked shares;
    for (int i = 0; i < nodes;
         ++i) { // from the most to the least; each side of the interval is normal by itself
        const double z =
            statistics::normal_quantile((i + 0.5) / nodes) / statistics::normal_quantile(0.975);
        const double half =
            z < 0.0 ? efficiency.value - efficiency.low : efficiency.high - efficiency.value;
        shares.push_back(
            overlooked_share(lines, std::clamp(efficiency.value + z * half, 1e-6, 1.0)));
    }
    return shares;
}

// The share of commanded seeds that the gate reported; only of portions, for in single drops it
// says nothing new.
std::optional<double> reported_share(const std::vector<Line>& lines) {
    double seen = 0.0;
    double commanded = 0.0;
    for (const Line& line : lines)
        for (const FieldDrop& drop : *line.second) {
            if (drop.target < 2)
                return std::nullopt;
            seen += std::min(drop.seen, drop.target);
            commanded += drop.target;
        }
    return commanded > 0.0 ? std::optional(seen / commanded) : std::nullopt;
}

// Either the drop was part of a lasting silence, or one of those that come singly.
Chance mixed(double out, const Chance& steady) {
    const auto mix = [&](double p) { return std::clamp(out + (1.0 - out) * p, 0.0, 1.0); };
    return {mix(steady.low), mix(steady.high),
            steady.best ? std::optional(mix(*steady.best)) : std::nullopt};
}

void note_row(RowJudge& row, const Background& background,
              const std::optional<Overlooked>& overlooked) {
    if (row.blocked)
        row.notes.push_back(fmt::format(
            "Row {}: the gate reported itself blocked; silent drops of those passes are not "
            "judged.",
            row.row));
    if (!row.efficiency) {
        if (!row.ever_seen)
            row.notes.push_back(fmt::format(
                "Row {}: the gate saw nothing in the whole table; whether it can see at "
                "all is not known.",
                row.row));
        return;
    }
    const auto n = static_cast<std::int64_t>(std::llround(background.drops));
    const auto x = std::clamp<std::int64_t>(std::llround(background.silent), 0, n);
    if (overlooked && n > 0 && statistics::binomial_cdf(x, {n, overlooked->back()}) < 1e-4)
        row.notes.push_back(
            fmt::format("Row {}: fewer drops are silent ({} of {}) than a gate of efficiency {} "
                        "leaves: it sees better than stated.",
                        row.row, x, n, row.efficiency->value));
}

class RowWork {
public:
    RowWork(const Field& field, const std::vector<Line>& lines,
            std::optional<GateEfficiency> efficiency)
        : lines_(&lines), passes_(silences(lines)), fit_(fit_silence(passes_)),
          cells_(bad_cells(lines, passes_)),
          backgrounds_(backgrounds(passes_, fit_, cells_, false)),
          at_cell_(sum_of(backgrounds(passes_, fit_, cells_, true))) {
        judge_.row = lines.front().first.row;
        judge_.model = fit_.model;
        judge_.efficiency = std::move(efficiency);
        judge_.ever_seen = std::any_of(passes_.begin(), passes_.end(), [](const Silence& pass) {
            return std::find(pass.begin(), pass.end(), std::uint8_t{0}) != pass.end();
        });
        for (const Line& line : lines)
            blocked_.push_back(field.gate_blocked.contains(line.first));
        judge_.blocked = std::find(blocked_.begin(), blocked_.end(), true) != blocked_.end();
        slow_ = slow_silences();
        if (std::any_of(slow_.begin(), slow_.end(), [](const Silence& pass) {
                return std::find(pass.begin(), pass.end(), std::uint8_t{1}) != pass.end();
            }))
            judge_.notes.push_back(fmt::format("Row {}: silence grew before it lasted, as it does "
                                               "when a gate goes blind by and by: whether "
                                               "seed is missing there can't be told. Clean the "
                                               "gate's windows and look at the row.",
                                               judge_.row));
        judge_.passes_differ = differ(backgrounds_);
        if (judge_.efficiency)
            overlooked_ = overlooked_by(lines, *judge_.efficiency);
        if (overlooked_) {
            judge_.when_silent = chance_of(background(), *overlooked_);
            judge_.missing_when_silent = judge_.when_silent.best;
        }
        judge_.reported_share = reported_share(lines);
        note_row(judge_, background(), overlooked_);
        if (!judge_.efficiency && judge_.ever_seen)
            note_portions();
    }

    [[nodiscard]] const RowJudge& row() const { return judge_; }
    [[nodiscard]] Background background() const { return sum_of(backgrounds_); }

    // What the least silent row says of this one.
    void compare(Neighbours neighbours, Assumption assumption) {
        if (judge_.efficiency || !judge_.ever_seen)
            return;
        const Background here = background();
        neighbours.missing_if_gates_alike = missing_when_silent(here, neighbours.least_silent_most);
        neighbours.missing_if_meters_alike = most_if_fed_alike(here, neighbours.least_silent_most);
        judge_.neighbours = neighbours;
        if (assumption == Assumption::gates_alike)
            judge_.when_silent = {neighbours.missing_if_gates_alike, 1.0};
        if (assumption == Assumption::meters_alike)
            judge_.when_silent = {0.0, neighbours.missing_if_meters_alike};
    }

    void judge(std::map<LineKey, std::vector<Chance>>& silent) const {
        for (std::size_t p = 0; p < passes_.size(); ++p) {
            const Chance steady = steady_chance(p);
            std::vector<Chance>& chances = silent[(*lines_)[p].first];
            for (std::size_t i = 0; i < passes_[p].size(); ++i)
                if (passes_[p][i] != 0)
                    chances.push_back(drop_chance(p, i, steady));
        }
    }

private:
    void note_portions() {
        const auto share = judge_.reported_share;
        if (!share || *share <= 0.0)
            return;
        judge_.notes.push_back(fmt::format(
            "Row {}: the gate reported {:.1f} % of the seeds commanded. If it overlooks seeds one "
            "by "
            "one it overlooks a whole portion in {:.2g} % of the drops at most, and silent drops "
            "beyond that are missing seed; a gate that goes blind for moments overlooks whole "
            "portions, "
            "and the log does not tell the two apart.",
            judge_.row, 100.0 * *share, 100.0 * overlooked_share(*lines_, *share)));
    }

    // No more than `most` of the drops are missing, and so much of the silent ones at most.
    [[nodiscard]] static double most_if_fed_alike(const Background& here, double most) {
        return here.silent > 0.0 ? std::min(1.0, most * here.drops / here.silent) : 1.0;
    }

    [[nodiscard]] bool lasting(std::size_t p, std::size_t i) const {
        return !fit_.out.empty() && fit_.out[p][i] > 0.5F;
    }

    // The silent share of the row's quietest pass.
    [[nodiscard]] double quietest() const {
        constexpr double enough = 50.0; // drops
        double least = 1.0;
        for (const Background& one : backgrounds_)
            if (one.drops >= enough)
                least = std::min(least, (one.silent + 1.0) / (one.drops + 2.0));
        return least;
    }

    // Whether the drops before a lasting silence, other ones left out, were silent far more often
    // than in the quietest pass: then the silence did not come of a sudden, and a gate that goes
    // blind by and by makes it too.
    [[nodiscard]] bool came_slowly(std::size_t pass, std::size_t first, double quiet) const {
        constexpr std::int64_t looked_at = 60;
        constexpr double beyond_chance = 1e-4;
        std::int64_t drops = 0;
        std::int64_t silent = 0;
        for (std::size_t p = pass + 1; p-- > 0 && drops < looked_at;)
            for (std::size_t i = p == pass ? first : passes_[p].size();
                 i-- > 0 && drops < looked_at;) {
                if (lasting(p, i) || (!cells_[p].empty() && cells_[p][i] != 0))
                    continue;
                ++drops;
                silent += passes_[p][i];
            }
        return drops > 0 && silent > 0 &&
               1.0 - statistics::binomial_cdf(silent - 1, {drops, quiet}) < beyond_chance;
    }

    // By pass: drops of lasting silences that did not come of a sudden.
    [[nodiscard]] std::vector<Silence> slow_silences() const {
        std::vector<Silence> slow(passes_.size());
        const double quiet = quietest();
        bool now = false;
        for (std::size_t p = 0; p < passes_.size(); ++p) {
            slow[p].resize(passes_[p].size());
            for (std::size_t i = 0; i < passes_[p].size(); ++i) {
                const bool goes_on = i > 0 && lasting(p, i - 1);
                if (lasting(p, i) && !goes_on)
                    now = came_slowly(p, i, quiet);
                slow[p][i] = lasting(p, i) && now ? 1 : 0;
            }
        }
        return slow;
    }

    [[nodiscard]] Chance drop_chance(std::size_t p, std::size_t i, const Chance& steady) const {
        if (blocked_[p] || (!judge_.efficiency && !judge_.ever_seen) || slow_[p][i] != 0)
            return {0.0, 1.0};
        const double out = fit_.out.empty() ? 0.0 : static_cast<double>(fit_.out[p][i]);
        if (cells_[p].empty() || cells_[p][i] == 0)
            return mixed(out, steady);
        if (overlooked_)
            return mixed(out, chance_of(at_cell_, *overlooked_));
        // A gate knows nothing of cells: what the cell's residue is silent beyond the others is the
        // meter's.
        const Background others = background();
        const double here = at_cell_.silent / at_cell_.drops;
        const double excess = here - others.silent / std::max(1.0, others.drops);
        return mixed(out, {std::max(0.0, excess / here), 1.0});
    }

    [[nodiscard]] Chance steady_chance(std::size_t pass) const {
        return overlooked_ && judge_.passes_differ ? chance_of(backgrounds_[pass], *overlooked_)
                                                   : judge_.when_silent;
    }

    const std::vector<Line>* lines_;
    std::vector<Silence> passes_;
    SilenceFit fit_;
    std::vector<Silence> cells_;          // drops of a bad cell
    std::vector<Background> backgrounds_; // of all others, by pass
    Background at_cell_;
    std::vector<Silence> slow_; // drops of lasting silences that did not come of a sudden
    std::vector<bool> blocked_; // passes in which the gate reported itself blocked
    std::optional<Overlooked> overlooked_;
    RowJudge judge_;
};

// The row with the least silent share between outages; none where there is only one row.
std::optional<Neighbours> least_silent(const std::vector<RowWork>& rows) {
    constexpr double least_drops = 100.0;
    std::optional<Neighbours> found;
    for (const RowWork& row : rows) {
        const Background here = row.background();
        if (here.drops < least_drops || !row.row().ever_seen)
            continue;
        const double most =
            here.silent < here.drops
                ? statistics::beta_quantile(0.975, {here.silent + 1.0, here.drops - here.silent})
                : 1.0;
        if (!found || most < found->least_silent_most)
            found = Neighbours{.least_row = row.row().row,
                               .least_silent = here.silent / here.drops,
                               .least_silent_most = most};
    }
    return rows.size() < 2 ? std::nullopt : found;
}

} // namespace

Judged judge_drops(const Field& field, const GateEfficiencies& efficiencies,
                   Assumption assumption) {
    const auto by_row = lines_by_row(field);
    std::vector<RowWork> rows;
    for (const auto& [row, lines] : by_row) {
        const auto found = efficiencies.find(row);
        rows.emplace_back(field, lines,
                          found == efficiencies.end() ? std::nullopt
                                                      : std::optional(found->second));
    }
    const auto neighbours = least_silent(rows);
    Judged judged;
    for (RowWork& row : rows) {
        if (neighbours)
            row.compare(*neighbours, assumption);
        judged.rows[row.row().row] = row.row();
        row.judge(judged.silent);
    }
    return judged;
}

} // namespace dropledger::field
