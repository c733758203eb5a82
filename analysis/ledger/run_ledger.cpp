#include "analysis/ledger/run_ledger.hpp"

#include "analysis/base/text.hpp"

#include <algorithm>
#include <limits>
#include <numeric>
#include <utility>

namespace dropledger::ledger {

namespace {

using droplog::Event;
using droplog::LineName;

constexpr std::int64_t longest_untold_us = 2'000'000; // from one travel line to the next
constexpr std::size_t faults_kept = 1000;
constexpr std::size_t jumps_named = 20;
constexpr std::size_t most_undirected = 65'536; // lines that wait for travel to set out

std::string detail_of(std::string_view body, std::size_t field) {
    const auto fields = droplog::fields_of(body);
    if (field >= fields.size())
        return {};
    return percent_decode(fields[field]).value_or(std::string{fields[field]});
}

} // namespace

RunLedger::RunLedger(Prepare prepare, SinkFor sink_for, KnownRun known, Spread spread)
    : prepare_(std::move(prepare)), sink_for_(std::move(sink_for)), known_(std::move(known)),
      threads_(spread) {
}

void RunLedger::begin(const droplog::Header& header) {
    auto setup = prepare_(header);
    if (!setup) {
        failure_ = setup.error();
        return;
    }
    setup_ = *std::move(setup);
    travel_ = Travel{setup_.speed_um_s};
    begin_segment();
    for (const auto& [number, settings] : setup_.channels)
        static_cast<void>(channel(number));
}

void RunLedger::begin_channel(int number) {
    ChannelOutcome& outcome = channels_[number];
    outcome.setup = setup_.channel(number);
    for (const Gate& gate : outcome.setup.gates) {
        GateLedger& ledger = outcome.gates.emplace_back(gate, setup_, travel_,
                                                        sink_for_(setup_, outcome.setup, gate));
        const auto known = known_.registrations.find({number, gate.number});
        if (known != known_.registrations.end() && gate.place == GatePlace::below)
            ledger.use_registration(known->second);
    }
    Feed& feed = by_number_[static_cast<std::size_t>(number)];
    feed.outcome = &outcome;
    // A channel's gates on threads next to each other: the judges, which take longest, spread evenly.
    for (GateLedger& ledger : outcome.gates)
        feed.gates.push_back(threads_.inbox(ledger, fed_.size() + feed.gates.size()));
    fed_.push_back(&feed);
}

template <class Call> void RunLedger::tell_all(const Call& call) {
    for (Feed* const feed : fed_)
        for (GateThreads::Inbox& gate : feed->gates)
            gate.take(call);
}

void RunLedger::take(const Event& event) {
    if (failure_)
        return;
    const LineName name = event.record.name;
    if (name == LineName::pulse)
        return take_pulse(event); // it waits for travel, and its gate puts it in order
    if (name != LineName::travel && name != LineName::drop && name != LineName::started)
        return take_report(event);
    waiting_.push({.time_us = event.time_us,
                   .line = event.line,
                   .position_um = event.record.position_um,
                   .index = event.record.index,
                   .count = event.record.count,
                   .channel = event.record.channel,
                   .name = name});
    newest_us_ = std::max(newest_us_, event.time_us);
    interpret_before(newest_us_ - latest_us);
}

void RunLedger::take_report(const Event& event) {
    if (event.record.name == LineName::halted)
        halted_reason_ = detail_of(event.body, 3);
    if (event.record.name == LineName::fault && faults_.size() < faults_kept)
        faults_.push_back(
            {event.record.channel, detail_of(event.body, 4), event.time_us, event.line});
}

void RunLedger::interpret_before(std::int64_t time_us) {
    for (; !waiting_.empty() && waiting_.front().time_us < time_us; waiting_.pop())
        interpret(waiting_.front());
}

void RunLedger::interpret(const Waiting& line) {
    if (line.name == LineName::drop)
        take_drop(line);
    else if (line.name == LineName::travel)
        take_travel(line);
    else
        take_start(line.time_us);
}

// Drops and travel are counted anew.
void RunLedger::take_start(std::int64_t time_us) {
    if (std::exchange(has_started_, true))
        begin_again(time_us);
}

void RunLedger::take_pulse(const Event& event) {
    Feed& feed = channel(event.record.channel);
    ++feed.outcome->pulses_by_gate[event.record.gate];
    for (std::size_t i = 0; i < feed.gates.size(); ++i)
        if (feed.outcome->setup.gates[i].number == event.record.gate)
            feed.gates[i].take(Pulse{.time_us = event.time_us,
                                     .shape = {event.record.width_us, event.record.depth_milli},
                                     .line = event.line});
}

void RunLedger::take_drop(const Waiting& line) {
    course_.drop(line.position_um);
    if (direction_ != 0)
        return place_drop(line);
    undirected_.push_back(line);
    set_out_where_possible();
}

void RunLedger::take_travel(const Waiting& line) {
    const Knot knot{line.time_us, line.position_um};
    switch (course_.step(knot)) {
    case Step::driven:
        return take_knot(knot);
    case Step::jump:
        ++travelled_.jumps;
        if (travelled_.jumps_at.size() < jumps_named)
            travelled_.jumps_at.push_back(line.line);
        return;
    case Step::set_anew:
        if (travelled_.jumps_at.size() == travelled_.jumps)
            travelled_.jumps_at.pop_back();
        --travelled_.jumps; // the line before counts after all
        ++travelled_.set_anew;
        end_segment(line.time_us);
        const Knot first = course_.begin_anew();
        begin_segment();
        take_knot(first);
        return take_travel(line);
    }
    throw BrokenInvariant("a travel line is neither driven nor a jump");
}

void RunLedger::add_step(std::int64_t step_um) {
    std::int64_t& common_um = travelled_.step_um;
    if (common_um == 0 || step_um % common_um != 0)
        common_um = std::gcd(common_um, step_um);
}

void RunLedger::take_knot(Knot knot) {
    if (last_knot_) {
        add_step(knot.position_um - last_knot_->position_um);
        const std::int64_t since_us = knot.time_us - last_knot_->time_us;
        const bool moved = knot.position_um != last_knot_->position_um;
        travelled_.untold_us += moved && since_us > longest_untold_us ? since_us : 0;
    }
    last_knot_ = knot;
    if (direction_ != 0)
        return place_knot(knot);
    undirected_.push_back(
        {.time_us = knot.time_us, .position_um = knot.position_um, .name = LineName::travel});
    set_out_where_possible();
}

void RunLedger::set_out_where_possible() {
    if (course_.has_set_out() || undirected_.size() >= most_undirected)
        set_out();
}

void RunLedger::set_out() {
    direction_ = course_.direction() < 0 ? -1 : 1;
    for (const Waiting& line : std::exchange(undirected_, {})) {
        if (line.name == LineName::drop)
            place_drop(line);
        else
            place_knot({line.time_us, line.position_um});
    }
}

void RunLedger::place_drop(const Waiting& line) {
    const Commanded drop{.index = line.index,
                         .target = line.count,
                         .position_um = line.position_um * direction_,
                         .time_us = line.time_us,
                         .line = line.line,
                         .start = start_};
    if (setup_.mode == Mode::line)
        return;
    for (GateThreads::Inbox& gate : channel(line.channel).gates)
        gate.take(drop);
}

void RunLedger::place_knot(Knot knot) {
    knot.position_um *= direction_;
    tell_all(knot);
    travel_.follow(knot);
}

void RunLedger::begin_segment() {
    const std::size_t number = directions_.size();
    direction_ = number < known_.directions.size() ? known_.directions[number] : 0;
    travel_.restart();
    last_knot_.reset();
}

void RunLedger::end_segment(std::int64_t end_us) {
    if (direction_ == 0)
        set_out();
    const int found = course_.direction();
    directions_.push_back(found == 0 ? direction_ : found);
    misdirected_ |= directions_.back() != direction_;
    if (found != 0)
        direction_of_all_ = direction_of_all_.value_or(found) == found ? found : 1;
    tell_all(SegmentEnd{end_us});
    travelled_.distance_um += course_.distance_um() * direction_;
    travelled_.duration_us += course_.duration_us();
}

void RunLedger::begin_again(std::int64_t end_us) {
    end_segment(end_us);
    ++start_;
    course_.begin();
    begin_segment();
}

void RunLedger::reboot() {
    if (failure_)
        return;
    interpret_before(end_of_time);
    newest_us_ = std::numeric_limits<std::int64_t>::min();
    has_started_ = false;
    begin_again(end_of_time);
}

void RunLedger::finish() {
    if (failure_)
        return;
    interpret_before(end_of_time);
    end_segment(end_of_time);
    tell_all(RunEnd{});
    for (Feed* const feed : fed_)
        for (GateThreads::Inbox& gate : feed->gates)
            threads_.flush(gate);
    threads_.finish();
    for (auto& [number, outcome] : channels_) {
        const bool second_judges = outcome.gates.size() > 1 && !outcome.setup.gates_declared &&
                                   outcome.gates[0].tally().pulses == 0 &&
                                   outcome.gates[1].tally().pulses > 0;
        outcome.judge = second_judges ? 1 : 0;
    }
}

} // namespace dropledger::ledger
