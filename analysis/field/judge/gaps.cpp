#include "analysis/field/judge/gaps.hpp"

#include "analysis/field/input/ground.hpp"

#include <span>

namespace dropledger::field {

namespace {

constexpr double surely = 0.9;

bool neighbours(const FieldDrop& before, const FieldDrop& after) {
    return before.drop + 1 == after.drop;
}

// Many drops at the very place of the one before: single places say too little.
bool coarse(const Field& field) {
    return 10 * field.facts.still > 3 * field.facts.steps;
}

double mean_step_m(const Field& field, const std::vector<FieldDrop>& line) {
    const std::int64_t steps = line.back().drop - line.front().drop;
    return steps > 0 ? length_along_m(line, field.geographic) / static_cast<double>(steps) : 0.0;
}

std::size_t end_of_gap(const std::vector<FieldDrop>& line, std::size_t begin) {
    std::size_t end = begin + 1;
    while (end < line.size() && line[end].silent() && neighbours(line[end - 1], line[end]))
        ++end;
    return end;
}

Gap gap_at(const Field& field, const LineKey& key, const std::vector<FieldDrop>& line,
           std::size_t begin) {
    Gap gap;
    gap.key = key;
    gap.begin = begin;
    gap.end = end_of_gap(line, begin);
    const FieldDrop& first = line[begin];
    const FieldDrop& last = line[gap.end - 1];
    gap.first_drop = first.drop;
    gap.last_drop = last.drop;
    gap.time_s = first.time_s;
    gap.from = first.at;
    gap.to = last.at;
    for (std::size_t i = begin; i < gap.end; ++i)
        gap.seeds += line[i].target;
    const bool before = begin > 0 && neighbours(line[begin - 1], first);
    const bool after = gap.end < line.size() && neighbours(last, line[gap.end]);
    gap.at_pass_end = gap.end == line.size();
    const std::size_t from = before ? begin - 1 : begin;
    const std::size_t to = after ? gap.end : gap.end - 1;
    gap.length_m = coarse(field) ? static_cast<double>(to - from) * mean_step_m(field, line)
                                 : length_along_m(std::span(line).subspan(from, to - from + 1),
                                                  field.geographic);
    return gap;
}

} // namespace

std::string_view name_of(Judgement judgement) {
    switch (judgement) {
    case Judgement::missing:
        return "missing";
    case Judgement::sensor:
        return "sensor";
    case Judgement::unknown:
        return "unknown";
    }
    throw BrokenInvariant("a judgement without a name");
}

Judgement judged(const Chance& chance) {
    if (chance.best.value_or(chance.low) >= surely)
        return Judgement::missing;
    return chance.best.value_or(chance.high) <= 1.0 - surely ? Judgement::sensor
                                                             : Judgement::unknown;
}

std::optional<double> stated(const Chance& chance) {
    if (chance.best)
        return chance.best;
    if (chance.high - chance.low < 1e-9 || judged(chance) == Judgement::missing)
        return chance.low;
    return judged(chance) == Judgement::sensor ? std::optional(chance.high) : std::nullopt;
}

std::vector<Gap> find_gaps(const Field& field, const LineKey& key,
                           const std::vector<FieldDrop>& line) {
    std::vector<Gap> gaps;
    std::int64_t silent = 0;
    for (std::size_t i = 0; i < line.size();) {
        if (!line[i].silent()) {
            ++i;
            continue;
        }
        gaps.push_back(gap_at(field, key, line, i));
        gaps.back().first_silent = silent;
        silent += gaps.back().drops();
        i = gaps.back().end;
    }
    return gaps;
}

} // namespace dropledger::field
