#include "bench/recorder/protocol/lines/survey.hpp"

namespace dropledger::recorder {

namespace {

using droplog::LineName;

// Beats, greetings, a dusty gate or a pressed button are nobody's run.
bool is_of_a_run(LineName name) {
    return name == LineName::armed || name == LineName::started || name == LineName::drop ||
           name == LineName::halted;
}

} // namespace

void Survey::begin(std::uint32_t own_first) {
    own_first_ = next_ = own_first;
}

void Survey::beat(const droplog::Record& beat) {
    if (told_)
        return;
    told_ = true;
    const std::uint32_t first = beat.seq - beat.index;
    if (static_cast<std::int32_t>(own_first_ - first) <= 0)
        return;
    next_ = first;
    held_ = own_first_ - first;
}

void Survey::seen(const droplog::Record& line) {
    holds_run_ = holds_run_ || is_of_a_run(line.name);
    busy_ =
        busy_ || (is_of_a_run(line.name) && static_cast<std::int32_t>(line.seq - own_first_) >= 0);
    if (told_ && line.seq == next_ && next_ != own_first_)
        ++next_;
}

void Survey::gone() {
    if (!ask_from())
        return;
    ++next_;
    --held_;
}

bool Survey::done() const {
    return holds_run_ || (told_ && next_ == own_first_);
}

std::optional<std::uint32_t> Survey::ask_from() const {
    return told_ && !done() ? std::optional{next_} : std::nullopt;
}

} // namespace dropledger::recorder
