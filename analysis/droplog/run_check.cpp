#include "analysis/droplog/run_check.hpp"

#include "analysis/base/text.hpp"
#include "analysis/droplog/settings.hpp"

#include <algorithm>

namespace dropledger::droplog {

void RunCheck::note(Flaw flaw, std::uint64_t line, std::uint64_t count) {
    const auto known = std::find_if(flaws_.begin(), flaws_.end(),
                                    [&](const FoundFlaw& one) { return one.flaw == flaw; });
    if (known == flaws_.end())
        flaws_.push_back({flaw, std::max<std::uint64_t>(count, 1), line});
    else
        known->count += count;
}

void RunCheck::boot(std::uint64_t line, bool in_mid_run) {
    if (in_mid_run && running_)
        note(Flaw::reset_in_run, line);
    end_start();
    greeted_ = started_ = running_ = false;
}

void RunCheck::take_other(const Record& record, std::uint64_t line) {
    const LineName name = record.name;
    if (name == LineName::pulse)
        return note(Flaw::no_started, line, 0);
    if (name == LineName::started)
        return start(line);
    greeted_ |= name == LineName::hello;
    if (name == LineName::halted) {
        halted_ = true;
        running_ = false;
    }
}

void RunCheck::take_drop(const Record& record, std::uint64_t line) {
    if (!started_)
        note(Flaw::no_started, line, 0);
    else if (!running_)
        note(Flaw::drop_while_halted, line);
    auto& check = channels_[static_cast<std::size_t>(record.channel)];
    if (!check)
        check = std::make_unique<IndexCheck>();
    check->take(record.index, line);
}

void RunCheck::start(std::uint64_t line) {
    if (!greeted_)
        note(Flaw::no_hello, line, 0);
    end_start();
    drops_.clear();
    if (++starts_ > 1 && (!confirmed_ || running_))
        note(Flaw::several_starts, line);
    confirmed_ = halted_ = false;
    started_ = running_ = true;
    order_ = sent_;
    if (starts_ == 1)
        whole_ = sent_;
}

// Looks at what the start that is over has commanded.
void RunCheck::end_start() {
    for (std::size_t channel = 0; channel < channels_.size(); ++channel) {
        if (!channels_[channel])
            continue;
        IndexCheck& check = *channels_[channel];
        check.finish();
        if (check.missing() > 0)
            note(Flaw::index_gap, check.missing_at(), check.missing());
        if (check.repeated() > 0)
            note(Flaw::index_repeated, check.repeated_at(), check.repeated());
        drops_.resize(std::max(drops_.size(), channel + 1), 0);
        all_drops_.resize(std::max(all_drops_.size(), channel + 1), 0);
        drops_[channel] = check.drops();
        all_drops_[channel] += check.drops();
        channels_[channel].reset();
    }
}

// The line stands there with its CRC, as it was sent.
void RunCheck::sent(std::string_view line) {
    const auto body = checked_body(line);
    if (!body || !body->starts_with("arm,"))
        return;
    const auto fields = fields_of(*body);
    if (fields.size() < 7)
        return;
    const auto mask = parse_uint(fields[5]);
    const auto drops = parse_uint(fields[6]);
    if (mask && drops)
        sent_ = Order{mode_of(fields[1]) == Mode::line, *drops, *mask};
}

std::uint64_t RunCheck::drops_beside(const Order& order, const std::vector<std::uint64_t>& drops) {
    std::uint64_t beside = 0;
    for (std::size_t channel = 0; channel < std::max<std::size_t>(drops.size(), 64); ++channel) {
        const bool ordered = channel < 64 && (order.channel_mask >> channel & 1U) != 0;
        const std::uint64_t asked = ordered ? order.drops : 0;
        const std::uint64_t there = channel < drops.size() ? drops[channel] : 0;
        beside += asked > there ? asked - there : there - asked;
    }
    return beside;
}

void RunCheck::check_order() {
    if (!halted_)
        note(Flaw::no_halted, 0);
    if (!order_)
        return note(Flaw::no_order, 0);
    if (order_->is_line)
        return;
    std::uint64_t beside = drops_beside(*order_, drops_);
    if (starts_ > 1 && whole_ && whole_->drops > 0)
        beside += drops_beside(*whole_, all_drops_);
    if (beside > 0)
        note(Flaw::count_not_agreed, 0, beside);
}

void RunCheck::finish(bool closed_by_count) {
    end_start();
    if (starts_ == 0)
        note(greeted_ ? Flaw::no_started : Flaw::no_hello, 0, 0);
    if (starts_ == 0 && !greeted_)
        note(Flaw::no_started, 0, 0);
    if (closed_by_count && starts_ > 0)
        check_order();
}

} // namespace dropledger::droplog
