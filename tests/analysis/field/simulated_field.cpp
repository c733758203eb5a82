#include "tests/analysis/field/simulated_field.hpp"

#include <algorithm>
#include <cmath>
#include <random>

namespace dropledger::field {

namespace {

class Unit {
public:
    Unit(const SimulatedRow& row, Extent extent, std::mt19937& random)
        : row_(&row), extent_(extent), random_(&random) {}

    [[nodiscard]] bool missing(std::int64_t pass, std::int64_t drop) {
        out_ = out_ ? !chance(1.0 / row_->burst_drops) : chance(row_->burst);
        const bool empty = row_->empty_from_pass >= 0 &&
                           (pass > row_->empty_from_pass ||
                            (pass == row_->empty_from_pass && drop > extent_.drops / 2));
        const bool bad = row_->bad_cell_of > 0 && drop % row_->bad_cell_of == 3;
        return chance(row_->miss) || out_ || empty || bad || drop < row_->late_drops;
    }

    [[nodiscard]] bool seen() { return chance(row_->efficiency); }

private:
    [[nodiscard]] bool chance(double p) {
        return std::uniform_real_distribution<double>(0.0, 1.0)(*random_) < p;
    }

    const SimulatedRow* row_;
    Extent extent_;
    std::mt19937* random_;
    bool out_ = false;
};

} // namespace

namespace {

void sow(Unit& unit, const LineKey& key, std::int64_t drops, SimulatedField& made) {
    Line& line = made.field.lines[key];
    std::int64_t silent = 0;
    for (std::int64_t d = 0; d < drops; ++d) {
        FieldDrop drop;
        drop.drop = d;
        drop.time_s =
            1.78e9 + 600.0 * static_cast<double>(key.pass) + 0.36 * static_cast<double>(d);
        drop.at = {0.5 * static_cast<double>(key.row) + 4.0 * static_cast<double>(key.pass),
                   0.2 * static_cast<double>(d)};
        const bool missing = unit.missing(key.pass, d);
        drop.seen = !missing && unit.seen() ? 1 : 0;
        silent = drop.seen == 0 ? silent + 1 : 0;
        drop.alert = silent == 2;
        if (missing)
            made.missing[key].insert(d);
        line.push_back(drop);
    }
    made.field.drops += drops;
}

} // namespace

SimulatedField simulate_field(const std::vector<SimulatedRow>& rows, Extent extent,
                              std::uint32_t seed) {
    std::mt19937 random(seed);
    SimulatedField made;
    made.field.geographic = false;
    for (std::size_t r = 0; r < rows.size(); ++r) {
        Unit unit(rows[r], extent, random);
        for (std::int64_t pass = 1; pass <= extent.passes; ++pass)
            sow(unit, {pass, static_cast<std::int64_t>(r) + 1}, extent.drops, made);
    }
    return made;
}

namespace {

void tabulate(const SimulatedField& made, const Judged& judged, ReliabilityTable& table) {
    for (const auto& [key, line] : made.field.lines) {
        const auto truth = made.missing.find(key);
        std::size_t silent = 0;
        for (const FieldDrop& drop : line.drops()) {
            if (!drop.silent())
                continue;
            const Chance& chance = judged.silent.at(key).at(silent++);
            if (!chance.best)
                continue; // can't be told: nothing is stated
            const double p = *chance.best;
            Reliability& one = table[std::min<std::size_t>(9, static_cast<std::size_t>(p * 10.0))];
            ++one.stated;
            one.sum += p;
            one.missing += truth != made.missing.end() && truth->second.contains(drop.drop) ? 1 : 0;
        }
    }
}

GateEfficiency counted(double efficiency, int seeds, std::mt19937& random) {
    if (seeds == 0) {
        GateEfficiency exact(efficiency);
        exact.source = "known";
        return exact;
    }
    const double n = seeds;
    const double z = 1.959964;
    const double seen = std::binomial_distribution<int>(seeds, efficiency)(random) / n;
    const double middle = (seen + z * z / (2.0 * n)) / (1.0 + z * z / n);
    const double half =
        z / (1.0 + z * z / n) * std::sqrt(seen * (1.0 - seen) / n + z * z / (4.0 * n * n));
    GateEfficiency found(seen);
    found.source = "counted";
    found.low = middle - half;
    found.high = std::max(seen, middle + half);
    return found;
}

} // namespace

ReliabilityTable reliability(std::uint32_t fields, std::uint32_t seed, int hand_count) {
    std::mt19937 random(seed);
    const auto between = [&](double low, double high) {
        return std::uniform_real_distribution<double>(low, high)(random);
    };
    ReliabilityTable table(10);
    for (std::uint32_t i = 0; i < fields; ++i) {
        std::vector<SimulatedRow> rows(6);
        GateEfficiencies efficiencies;
        for (std::size_t r = 0; r < rows.size(); ++r) {
            rows[r].miss = between(0.0, 0.1);
            rows[r].efficiency = between(0.85, 0.999);
            efficiencies[static_cast<std::int64_t>(r) + 1] =
                counted(rows[r].efficiency, hand_count, random);
        }
        rows[1].burst = 0.002;
        rows[2].bad_cell_of = 24;
        rows[3].empty_from_pass = 4;
        const SimulatedField made = simulate_field(rows, {}, static_cast<std::uint32_t>(random()));
        const Judged judged = judge_drops(made.field, {.efficiencies = efficiencies});
        tabulate(made, judged, table);
    }
    return table;
}

} // namespace dropledger::field
