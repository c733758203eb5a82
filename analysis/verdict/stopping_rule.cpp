#include "analysis/verdict/stopping_rule.hpp"

#include "analysis/base/enum_names.hpp"
#include "analysis/base/text.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <sstream>

namespace dropledger::verdict {

using statistics::Decision;
using statistics::LimitPlan;
using statistics::SequentialPlan;
using statistics::StopPlan;
using statistics::TwoPoint;

using measures::Quantity;

namespace {

constexpr std::string_view prefix = "sequential ";

Error refused(const Profile& profile, std::string what, std::string remedy) {
    return usage_error(fmt::format("profile '{}'", profile.name), std::move(what),
                       std::move(remedy));
}

std::string remark_of(std::string_view what, const StopPlan& plan, const StoppingRule& rule) {
    const std::string bounds = fmt::format("most {} least {}", rule.most, rule.least);
    if (const auto* const limit = std::get_if<LimitPlan>(&plan))
        return fmt::format("{}{} limit {} confidence {} first {} every {} events {} {}", prefix,
                           what, limit->limit, limit->confidence.level(), limit->monitoring.first,
                           limit->every, limit->least_events, bounds);
    const TwoPoint& points = std::get<SequentialPlan>(plan).points;
    return fmt::format("{}{} {} {} {} {} {}", prefix, what, points.good, points.bad, points.alpha,
                       points.beta, bounds);
}

std::vector<std::string> words_in(const std::string& text) {
    std::istringstream stream(text);
    std::vector<std::string> words;
    for (std::string word; stream >> word;)
        words.push_back(word);
    return words;
}

// `most N`, and `least N` where it is stated, from `words[at]` to the end.
std::optional<StoppingRule> read_bounds(const std::vector<std::string>& words, std::size_t at) {
    const bool has_least = words.size() == at + 4;
    if (words.size() != at + 2 && !has_least)
        return std::nullopt;
    const auto most = parse_int(words[at + 1]);
    const auto least = has_least ? parse_int(words[at + 3]) : std::optional<std::int64_t>{0};
    const bool named = words[at] == "most" && (!has_least || words[at + 2] == "least");
    if (!named || !most || !least || *most < 1 || *least < 0)
        return std::nullopt;
    StoppingRule bounds;
    bounds.most = *most;
    bounds.least = *least;
    return bounds;
}

constexpr std::size_t wald_words = 6;
constexpr std::size_t limit_words = 12;

// `sequential miss GOOD BAD ALPHA BETA`
std::optional<StopPlan> read_wald(const std::vector<std::string>& words) {
    double numbers[4] = {};
    for (std::size_t i = 0; i < 4; ++i) {
        const auto number = parse_double(words[i + 2]);
        if (!number)
            return std::nullopt;
        numbers[i] = *number;
    }
    const auto plan = statistics::sequential_plan({numbers[0], numbers[1], numbers[2], numbers[3]});
    return plan ? std::optional<StopPlan>{*plan} : std::nullopt;
}

// `sequential miss limit L confidence C first F every E events K`
std::optional<StopPlan> read_limit(const std::vector<std::string>& words,
                                   const StoppingRule& bounds) {
    const auto limit = parse_double(words[3]);
    const auto confidence = parse_double(words[5]);
    const auto first = parse_int(words[7]);
    const auto every = parse_int(words[9]);
    const auto events = parse_int(words[11]);
    const bool named = words[4] == "confidence" && words[6] == "first" && words[8] == "every" &&
                       words[10] == "events";
    if (!named || !limit || !confidence || !first || !every || !events)
        return std::nullopt;
    const bool possible = *limit > 0.0 && *limit < 1.0 && *confidence > 0.5 && *confidence < 1.0 &&
                          *first >= 1 && *every >= 1 && *events >= 1;
    if (!possible)
        return std::nullopt;
    return LimitPlan{.limit = *limit,
                     .confidence = Confidence{*confidence},
                     .monitoring = {.first = *first, .most = bounds.most},
                     .every = *every,
                     .least = bounds.least,
                     .least_events = *events};
}

// A remark `sequential miss|multiples …`.
bool read_remark(const std::string& remark, StoppingRule& rule) {
    const std::vector<std::string> words = words_in(remark);
    if (words.size() < wald_words || (words[1] != "miss" && words[1] != "multiples"))
        return false;
    const bool by_limit = words[2] == "limit";
    const auto bounds = read_bounds(words, by_limit ? limit_words : wald_words);
    if (!bounds ||
        (rule.tests_anything() && (rule.most != bounds->most || rule.least != bounds->least)))
        return false;
    const auto plan = by_limit ? read_limit(words, *bounds) : read_wald(words);
    if (!plan)
        return false;
    (words[1] == "miss" ? rule.miss : rule.multiples) = *plan;
    rule.most = bounds->most;
    rule.least = bounds->least;
    return true;
}

std::string percent(double share) {
    return fmt::format("{:.4g} %", 100.0 * share);
}

std::string plan_in_words(const char* what, const StopPlan& plan) {
    if (const auto* const limit = std::get_if<LimitPlan>(&plan))
        return fmt::format("{}: at most {}; good once the {} interval of the share lies inside, "
                           "bad once it lies beyond with {} independent events or more, looked at "
                           "every {} drops from {} on (the interval allows for the looks)",
                           what, percent(limit->limit), percent(limit->confidence.level()),
                           limit->least_events, limit->every, limit->monitoring.first);
    const TwoPoint& points = std::get<SequentialPlan>(plan).points;
    return fmt::format("{}: good {}, bad {}, a good unit called bad at most {} of the time, a bad "
                       "one good at most {}",
                       what, percent(points.good), percent(points.bad), percent(points.alpha),
                       percent(points.beta));
}

// The profile's own limit; where it states none for this, the level that it calls bad.
double limit_for(const Profile& profile, std::optional<measures::Quantity> of,
                 const SequentialLevels& levels) {
    for (const Limit& limit : profile.limits)
        if (limit.quantity == of)
            return limit.value;
    return levels.bad;
}

// Each side of the interval is a risk: that it misses what it should hold, that way.
Confidence confidence_of(const Profile& profile) {
    const double risk = std::min(profile.sequential->alpha, profile.sequential->beta);
    return Confidence{std::max(profile.confidence.level(), 1.0 - 2.0 * risk)};
}

constexpr std::array decision_names{
    EnumName{Decision::go_on, "open"}, EnumName{Decision::accept, "good"},
    EnumName{Decision::reject, "bad"}, EnumName{Decision::undecided, "undecided"}};
static_assert(names_all<decision_names>());

} // namespace

Result<StoppingRule> stopping_rule(const Profile& profile, std::optional<std::int64_t> drops) {
    if (profile.mode == ledger::Mode::line)
        return refused(profile, "a line has no commanded drops to decide by",
                       "give the number of seeds with `drops` instead of `until_decided`");
    if (!profile.sequential || (!profile.sequential->miss && !profile.sequential->multiples))
        return refused(profile, "it states no levels by which a run could stop itself",
                       "add a [sequential] table with good_miss and bad_miss, or good_multiples "
                       "and bad_multiples, or give `drops` instead of `until_decided`");
    const Sequential& levels = *profile.sequential;
    StoppingRule rule;
    rule.most = std::min(levels.most_drops, drops.value_or(levels.most_drops));
    rule.least = std::min(profile.least_drops, rule.most);
    const auto plan_for = [&](const std::optional<SequentialLevels>& points,
                              std::optional<measures::Quantity> of) -> std::optional<StopPlan> {
        if (!points)
            return std::nullopt;
        return LimitPlan{.limit = limit_for(profile, of, *points),
                         .confidence = confidence_of(profile),
                         .monitoring = {.most = rule.most},
                         .least = rule.least,
                         .least_events = profile.least_events};
    };
    const bool portion = profile.mode == ledger::Mode::portion;
    rule.miss = plan_for(levels.miss, portion ? Quantity::empty_share : Quantity::miss_index);
    rule.multiples = plan_for(levels.multiples,
                              portion ? std::nullopt : std::optional{Quantity::multiples_index});
    return rule;
}

std::vector<std::string> remarks_of(const StoppingRule& rule) {
    std::vector<std::string> remarks;
    if (rule.miss)
        remarks.push_back(remark_of("miss", *rule.miss, rule));
    if (rule.multiples)
        remarks.push_back(remark_of("multiples", *rule.multiples, rule));
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
        parts.push_back(plan_in_words("misses", *rule.miss));
    if (rule.multiples)
        parts.push_back(plan_in_words("multiples", *rule.multiples));
    return fmt::format("{}; {} drops at most, and at least {} where all is good",
                       fmt::join(parts, "; "), rule.most, rule.least);
}

std::string_view name_of(Decision decision) {
    return row_in(decision_names, decision).key;
}

} // namespace dropledger::verdict
