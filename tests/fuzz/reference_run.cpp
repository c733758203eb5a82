#include "tests/fuzz/reference_run.hpp"

#include "analysis/base/text.hpp"
#include "tests/fuzz/reference.hpp"

#include <algorithm>

namespace reference {

using dropledger::parse_uint;

void Run::flaw(Flaw kind, std::uint64_t count) {
    if (count > 0)
        flaws_[kind] += count;
}

void Run::boot(bool first_of_log) {
    flaw(Flaw::reset_in_run, !first_of_log && running_ ? 1 : 0);
    end_part();
    greeted_ = started_ = running_ = false;
}

void Run::take(const Line& line) {
    if (line.name == "hello")
        greeted_ = true;
    if (line.name == "started")
        start();
    if (line.name == "halted") {
        halted_ = true;
        running_ = false;
    }
    if ((line.name == "drop" && !started_) || (line.name == "pulse" && starts_ == 0))
        flaw_once(Flaw::no_started);
    flaw(Flaw::drop_while_halted, line.name == "drop" && started_ && !running_ ? 1 : 0);
    if (line.name == "drop")
        take_drop(*parse_uint(line.fields[3]), *parse_uint(line.fields[4]));
}

void Run::start() {
    if (!greeted_)
        flaw_once(Flaw::no_hello);
    end_part();
    last_drops_.clear();
    flaw(Flaw::several_starts, ++starts_ > 1 && (!confirmed_ || running_) ? 1 : 0);
    started_ = running_ = true;
    confirmed_ = halted_ = false;
    order_ = sent_;
    if (starts_ == 1)
        whole_ = sent_;
}

// Further than 1023 behind the highest, a drop can't be told from one that is there twice.
void Run::take_drop(std::uint64_t channel, std::uint64_t index) {
    auto& drops = part_.drops[channel];
    const bool too_late = !drops.empty() && index + 1023 < *drops.rbegin();
    if (too_late || !drops.insert(index).second)
        ++part_.repeated[channel];
}

void Run::end_part() {
    for (const auto& [channel, drops] : part_.drops) {
        last_drops_[channel] = *drops.rbegin() + 1;
        all_drops_[channel] += *drops.rbegin() + 1;
        flaw(Flaw::index_gap, *drops.rbegin() + 1 - drops.size());
        flaw(Flaw::index_repeated, part_.repeated[channel]);
    }
    part_ = {};
}

void Run::sent(const std::string& encoded) {
    const Line sent = line(dropledger::percent_decode(encoded).value_or(encoded));
    if (sent.fields.size() < 7 || sent.name != "arm")
        return;
    if (parse_uint(sent.fields[5]) && parse_uint(sent.fields[6]))
        sent_ = sent.fields;
}

std::vector<dropledger::droplog::FoundFlaw> Run::finish(bool closed_by_count) {
    end_part();
    if (starts_ == 0) {
        flaw_once(Flaw::no_started);
        if (!greeted_)
            flaw_once(Flaw::no_hello);
    }
    if (starts_ > 0 && closed_by_count)
        check_order();
    std::vector<dropledger::droplog::FoundFlaw> all;
    for (const auto& [kind, count] : flaws_)
        all.push_back({kind, count, 0});
    return all;
}

void Run::check_order() {
    if (!halted_)
        flaw_once(Flaw::no_halted);
    if (order_.empty())
        return flaw_once(Flaw::no_order);
    if (order_[1] == "line")
        return;
    compare(order_, last_drops_);
    if (starts_ > 1 && !whole_.empty() && *parse_uint(whole_[6]) > 0)
        compare(whole_, all_drops_);
}

void Run::compare(const std::vector<std::string>& order,
                  std::map<std::uint64_t, std::uint64_t>& drops) {
    const std::uint64_t mask = *parse_uint(order[5]);
    for (std::uint64_t channel = 0; channel < 256; ++channel) {
        const bool ordered = channel < 64 && (mask >> channel) % 2 == 1;
        const std::uint64_t asked = ordered ? *parse_uint(order[6]) : 0;
        const std::uint64_t there = drops.count(channel) > 0 ? drops[channel] : 0;
        flaw(Flaw::count_not_agreed, std::max(asked, there) - std::min(asked, there));
    }
}

} // namespace reference
