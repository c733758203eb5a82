#include "bench/recorder/lifeline.hpp"

#include "analysis/droplog/line.hpp"

#include <utility>

namespace dropledger::recorder {

namespace {

constexpr int most_halts = 8; // one may be damaged on the way; then the controller's own rule holds

} // namespace

Lifeline::Lifeline(Wire& wire, Clock& clock, const Timings& timings, std::function<bool()> attended)
    : wire_(wire), clock_(clock), dead_man_(timings.dead_man), attended_(std::move(attended)),
      progress_at_(clock.steady()) {
}

void Lifeline::begin() {
    {
        const std::lock_guard lock(rule_);
        if (std::exchange(begun_, true))
            return;
    }
    speak();
}

void Lifeline::progress() {
    const Microseconds now = clock_.steady();
    const std::lock_guard lock(rule_);
    progress_at_ = now;
    halts_ = 0;
}

std::optional<Trip> Lifeline::tripped() {
    const std::lock_guard lock(rule_);
    return std::exchange(tripped_, std::nullopt);
}

// Empty for silence.
std::string Lifeline::next_word() {
    const Microseconds now = clock_.steady();
    const std::lock_guard lock(rule_);
    if (!begun_)
        return "";
    if (now - progress_at_ >= dead_man_) {
        tripped_ = Trip::held_up;
        return ++halts_ <= most_halts ? "halt" : "";
    }
    if (left_alone_) // the recorder sees to the halt from here on
        return "";
    if (attended_())
        return "alive";
    left_alone_ = true;
    tripped_ = Trip::unattended;
    return "halt";
}

// A line that is gone is for the recorder to notice.
void Lifeline::speak() {
    if (const std::string word = next_word(); !word.empty())
        static_cast<void>(wire_.write(droplog::encode(word)));
}

} // namespace dropledger::recorder
