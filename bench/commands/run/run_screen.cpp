#include "bench/commands/run/run_screen.hpp"

#include "bench/commands/run/diagnostics.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/recorder/protocol/words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <iostream>
#include <string_view>

#include <unistd.h>

namespace dropledger::cli {

namespace {

constexpr Microseconds repaint{200'000};
constexpr Microseconds plain_line_every{5'000'000};

bool is_terminal() {
    const char* const kind = std::getenv("TERM");
    return ::isatty(STDERR_FILENO) == 1 && kind != nullptr && std::string_view{kind} != "dumb";
}

std::string setting(const ScreenPlan& plan, int channel, std::string_view key) {
    for (const recorder::ChannelSetting& one : plan.channel_settings)
        if (one.channel == channel && one.key == key)
            return one.value;
    return "";
}

std::vector<ScreenUnit> units_of(const ScreenPlan& plan) {
    std::vector<ScreenUnit> units;
    constexpr int mask_bits = 32;
    for (int channel = 0; channel < mask_bits; ++channel)
        if (((plan.order.channel_mask >> static_cast<unsigned>(channel)) & 1U) != 0)
            units.push_back({.channel = channel,
                             .unit = setting(plan, channel, "unit"),
                             .row = setting(plan, channel, "row"),
                             .tally = {},
                             .seeds_per_m = std::nullopt});
    return units;
}

std::optional<double> share_limit(const ScreenPlan& plan, measures::Quantity quantity) {
    return plan.profile ? plan.profile->limit_of(quantity) : std::nullopt;
}

ScreenModel model_of(const ScreenPlan& plan) {
    using measures::Quantity;
    const bool portion = plan.order.mode == droplog::Mode::portion;
    ScreenModel model{
        .mode = plan.order.mode,
        .wanted = static_cast<std::uint64_t>(std::max<std::int64_t>(plan.order.drops, 0)),
        .miss_limit = share_limit(plan, portion ? Quantity::empty_share : Quantity::miss_index),
        .multiples_limit =
            share_limit(plan, portion ? Quantity::over_share : Quantity::multiples_index),
        .wanted_per_m = std::nullopt,
        .seconds_left = std::nullopt,
        .units = units_of(plan)};
    if (plan.order.mode == droplog::Mode::line && plan.order.spacing_um > 0)
        model.wanted_per_m = 1e6 / static_cast<double>(plan.order.spacing_um);
    return model;
}

// The rule that judges as the audit does; none where the profile states no limits for it.
std::optional<verdict::StoppingTests> tests_of(const ScreenPlan& plan) {
    if (!plan.profile || plan.order.mode == droplog::Mode::line)
        return std::nullopt;
    const auto rule = verdict::stopping_rule(*plan.profile, plan.order.drops);
    if (!rule || !rule->tests_anything())
        return std::nullopt;
    return verdict::StoppingTests{*rule, plan.order.channel_mask};
}

} // namespace

void print_cautions() {
    tell("Before the motors start:\n"
         "  Seed may be treated. Its dust harms: wear the mask and gloves that the seed\n"
         "  label asks for.\n"
         "  Discs, belts and valves move without warning. Keep hands, hair and sleeves\n"
         "  out; guard closed.\n"
         "  The gates' beams are infrared and invisible. Do not look into an emitter at\n"
         "  close range.\n"
         "  Motors and valves carry current. Switch off and unplug before you open or\n"
         "  reach in.\n"
         "The seed label, local codes and licensed practice rule; this list does not\n"
         "replace them.\n");
}

bool is_asked() {
    return ::isatty(STDIN_FILENO) == 1;
}

std::optional<std::string> answer_at_terminal(const std::string& question) {
    if (!is_asked())
        return std::nullopt;
    tell("{}", question);
    std::string answer;
    std::getline(std::cin, answer);
    return answer;
}

RunScreen::RunScreen(recorder::Clock& clock, const ScreenPlan& plan)
    : clock_(clock), model_(model_of(plan)), terminal_(is_terminal()), tests_(tests_of(plan)),
      least_drops_(plan.profile ? plan.profile->least_drops : 0),
      writer_(terminal_ ? Paper::terminal : Paper::lines) {
}

void RunScreen::settled(const recorder::Settled& drop) {
    if (tests_)
        tests_->add(drop.channel, drop.miss, drop.over);
}

// Outside on one decision, within where all there are say so.
SoFar RunScreen::so_far(int channel) const {
    if (!tests_)
        return SoFar::open;
    bool all_good = true;
    for (const verdict::StopDecision& one : tests_->decisions()) {
        if (one.channel != channel)
            continue;
        if (one.decision == statistics::Decision::reject)
            return SoFar::outside;
        all_good =
            all_good && one.decision == statistics::Decision::accept && one.drops >= least_drops_;
    }
    return all_good ? SoFar::within : SoFar::open;
}

void RunScreen::take_unit(const recorder::LiveTally& tally, const recorder::ChannelTally& counts,
                          ScreenUnit& unit) {
    unit.tally = counts;
    unit.so_far = so_far(unit.channel);
    unit.dry = counts.dry;
    if (model_.mode != droplog::Mode::line)
        return;
    const double travelled_m = static_cast<double>(tally.travelled_um()) / 1e6;
    if (travelled_m > 0.0)
        unit.seeds_per_m = static_cast<double>(counts.pulses) / travelled_m;
    const double since_m = travelled_m - static_cast<double>(counts.seed_at_um) / 1e6;
    unit.dry = static_cast<std::uint64_t>(since_m * model_.wanted_per_m.value_or(0.0));
}

void RunScreen::take(const recorder::LiveTally& tally) {
    const auto channels = tally.channels();
    for (ScreenUnit& unit : model_.units) {
        const auto found = channels.find(unit.channel);
        take_unit(tally, found == channels.end() ? recorder::ChannelTally{} : found->second, unit);
    }
    model_.seconds_left = seconds_left(clock_.steady());
}

// By the pace of this process's run so far.
std::optional<double> RunScreen::seconds_left(Microseconds now) {
    constexpr double least_s = 2.0;
    std::uint64_t done = model_.units.empty() ? 0 : model_.wanted;
    for (const ScreenUnit& unit : model_.units)
        done = std::min(done,
                        model_.mode == droplog::Mode::line ? unit.tally.pulses : unit.tally.drops);
    if (done == 0 || model_.wanted <= done)
        return std::nullopt;
    if (!began_)
        began_ = {now, done};
    const double s = static_cast<double>((now - began_->first).count()) / 1e6;
    if (s < least_s || done <= began_->second)
        return std::nullopt;
    return s * static_cast<double>(model_.wanted - done) /
           static_cast<double>(done - began_->second);
}

// Once for each spell without seed.
void RunScreen::warn_of_dry() {
    for (const ScreenUnit& unit : model_.units) {
        if (unit.dry < dry_drops) {
            dry_.erase(unit.channel);
        } else if (dry_.insert(unit.channel).second) {
            say(fmt::format("{}: no seed for {} drops; look at its hopper, then at disc and gate",
                            name_of(unit), unit.dry));
            if (terminal_)
                writer_.bell();
        }
    }
}

void RunScreen::show(const recorder::LiveTally& tally) {
    const Microseconds now = clock_.steady();
    if (now - shown_at_ < (terminal_ ? repaint : plain_line_every))
        return;
    shown_at_ = now;
    take(tally);
    warn_of_dry();
    if (terminal_)
        return writer_.picture(model_);
    writer_.text(plain_line_of(model_));
}

void RunScreen::say(const std::string& text) {
    note_news(text);
    writer_.text(text);
}

std::string RunScreen::unit_name(int channel) const {
    for (const ScreenUnit& unit : model_.units)
        if (unit.channel == channel)
            return name_of(unit);
    return fmt::format("channel {}", channel);
}

void RunScreen::finish(const recorder::LiveTally& tally) {
    take(tally);
    model_.seconds_left.reset();
    writer_.last_picture(model_);
    writer_.wait_at_most_2_s();
}

} // namespace dropledger::cli
