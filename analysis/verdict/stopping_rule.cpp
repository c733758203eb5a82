#include "analysis/verdict/stopping_rule.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <sstream>

namespace dropledger::verdict {

using statistics::Decision;
using statistics::SequentialPlan;
using statistics::TwoPoint;

namespace {

constexpr std::string_view prefix = "sequential ";

Error refused(const Profile& profile, std::string what, std::string remedy) {
    return {ErrorKind::usage, fmt::format("profile '{}'", profile.name), std::move(what),
            std::move(remedy)};
}

std::string remark_of(std::string_view what, const TwoPoint& points, const StoppingRule& rule) {
    return fmt::format("{}{} {} {} {} {} most {} least {}", prefix, what, points.good, points.bad,
                       points.alpha, points.beta, rule.most, rule.least);
}

std::vector<std::string> words_in(const std::string& text) {
    std::istringstream stream(text);
    std::vector<std::string> words;
    for (std::string word; stream >> word;)
        words.push_back(word);
    return words;
}

// `most N`, and `least N` where it is stated.
std::optional<StoppingRule> read_bounds(const std::vector<std::string>& words) {
    const auto most = parse_int(words[7]);
    const auto least = words.size() == 8 ? std::optional<std::int64_t>{0} : parse_int(words[9]);
    const bool named = words[6] == "most" && (words.size() == 8 || words[8] == "least");
    if (!named || !most || !least || *most < 1 || *least < 0)
        return std::nullopt;
    StoppingRule bounds;
    bounds.most = *most;
    bounds.least = *least;
    return bounds;
}

// A remark `sequential miss|multiples …`.
bool read_remark(const std::string& remark, StoppingRule& rule) {
    const std::vector<std::string> words = words_in(remark);
    if ((words.size() != 8 && words.size() != 10) ||
        (words[1] != "miss" && words[1] != "multiples"))
        return false;
    double numbers[4] = {};
    for (std::size_t i = 0; i < 4; ++i) {
        const auto number = parse_double(words[i + 2]);
        if (!number)
            return false;
        numbers[i] = *number;
    }
    const auto bounds = read_bounds(words);
    auto plan = statistics::sequential_plan({numbers[0], numbers[1], numbers[2], numbers[3]});
    if (!plan || !bounds ||
        (rule.tests_anything() && (rule.most != bounds->most || rule.least != bounds->least)))
        return false;
    (words[1] == "miss" ? rule.miss : rule.multiples) = *plan;
    rule.most = bounds->most;
    rule.least = bounds->least;
    return true;
}

std::string percent(double share) {
    return fmt::format("{:.4g} %", 100.0 * share);
}

std::string levels_in_words(const char* what, const TwoPoint& points) {
    return fmt::format("{}: good {}, bad {}, a good unit called bad at most {} of the time, a bad "
                       "one good at most {}",
                       what, percent(points.good), percent(points.bad), percent(points.alpha),
                       percent(points.beta));
}

} // namespace

Result<StoppingRule> stopping_rule(const Profile& profile, std::optional<std::int64_t> drops) {
    if (profile.mode == ledger::Mode::line)
        return refused(profile, "a line has no commanded drops to decide by",
                       "give the number of seeds with --drops instead of --until-decided");
    if (!profile.sequential || (!profile.sequential->miss && !profile.sequential->multiples))
        return refused(profile, "it states no levels by which a run could stop itself",
                       "add a [sequential] table with good_miss and bad_miss, or good_multiples "
                       "and bad_multiples, or give --drops instead of --until-decided");
    const Sequential& levels = *profile.sequential;
    StoppingRule rule;
    rule.most = std::min(levels.most_drops, drops.value_or(levels.most_drops));
    rule.least = std::min(profile.least_drops, rule.most);
    const auto plan_for = [&](const std::optional<SequentialLevels>& points)
        -> Result<std::optional<SequentialPlan>> {
        if (!points)
            return std::optional<SequentialPlan>{};
        auto plan =
            statistics::sequential_plan({points->good, points->bad, levels.alpha, levels.beta});
        if (!plan)
            return plan.error();
        return std::optional{*plan};
    };
    const auto miss = plan_for(levels.miss);
    const auto multiples = plan_for(levels.multiples);
    if (!miss || !multiples)
        return refused(profile, (!miss ? miss : multiples).error().what,
                       "correct its [sequential] table");
    rule.miss = *miss;
    rule.multiples = *multiples;
    return rule;
}

std::vector<std::string> remarks_of(const StoppingRule& rule) {
    std::vector<std::string> remarks;
    if (rule.miss)
        remarks.push_back(remark_of("miss", rule.miss->points, rule));
    if (rule.multiples)
        remarks.push_back(remark_of("multiples", rule.multiples->points, rule));
    return remarks;
}

StatedRule stated_rule(const std::vector<std::string>& remarks) {
    StatedRule stated;
    for (const std::string& remark : remarks)
        if (remark.starts_with(prefix) && !read_remark(remark, stated.rule))
            stated.unreadable.push_back(remark);
    return stated;
}

std::string rule_in_words(const StoppingRule& rule) {
    std::vector<std::string> parts;
    if (rule.miss)
        parts.push_back(levels_in_words("misses", rule.miss->points));
    if (rule.multiples)
        parts.push_back(levels_in_words("multiples", rule.multiples->points));
    return fmt::format("{}; {} drops at most, and at least {} where all is good",
                       fmt::join(parts, "; "), rule.most, rule.least);
}

std::string_view name_of(Decision decision) {
    switch (decision) {
    case Decision::go_on:
        return "open";
    case Decision::accept:
        return "good";
    case Decision::reject:
        return "bad";
    case Decision::undecided:
        return "undecided";
    }
    throw BrokenInvariant("a decision without a name");
}

} // namespace dropledger::verdict
