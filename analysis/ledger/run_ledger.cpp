#include "analysis/ledger/run_ledger.hpp"

#include "analysis/base/text.hpp"

#include <cstdlib>
#include <numeric>
#include <utility>

namespace dropledger::ledger {

namespace {

using droplog::Event;
using droplog::LineName;

constexpr std::int64_t settling_us = 1'000'000; // what comes later than this the reader does not let through
constexpr std::size_t faults_kept = 1000;
constexpr std::int64_t setting_out_um = 10'000; // travel that tells the direction; less may be the encoder's jitter

std::string detail_of(std::string_view body, std::size_t field) {
    const auto fields = droplog::fields_of(body);
    if (field >= fields.size())
        return {};
    return percent_decode(fields[field]).value_or(std::string{fields[field]});
}

} // namespace

RunLedger::RunLedger(Prepare prepare, SinkFor sink_for, Registrations registrations)
    : prepare_(std::move(prepare)), sink_for_(std::move(sink_for)),
      registrations_(std::move(registrations)) {}

void RunLedger::begin(const droplog::Header& header) {
    auto setup = prepare_(header);
    if (!setup) {
        failure_ = setup.error();
        return;
    }
    setup_ = *std::move(setup);
    travel_ = Travel{setup_.speed_um_s};
    for (const auto& [number, settings] : setup_.channels)
        static_cast<void>(channel(number));
}

ChannelOutcome& RunLedger::new_channel(int number) {
    ChannelOutcome& outcome = channels_[number];
    outcome.setup = setup_.channel(number);
    for (const Gate& gate : outcome.setup.gates) {
        GateLedger& ledger = outcome.gates.emplace_back(
            gate, setup_.mode, setup_.spacing_um.value_or(0), sink_for_(setup_, outcome.setup, gate));
        const auto known = registrations_.find({number, gate.number});
        if (known != registrations_.end() && gate.place == GatePlace::below)
            ledger.use_registration(known->second);
    }
    by_number_[static_cast<std::size_t>(number)] = &outcome;
    return outcome;
}

void RunLedger::take(const Event& event) {
    if (failure_)
        return;
    const LineName name = event.record.name;
    if (name == LineName::pulse)
        return take_pulse(event);
    if (name != LineName::travel && name != LineName::drop)
        return take_report(event);
    if (direction_ == 0) {
        undirected_.push_back(event);
        if (name == LineName::travel)
            take_travel(event.time_us, event.record.position_um);
        return;
    }
    if (name == LineName::drop)
        take_drop(event);
    else
        take_travel(event.time_us, event.record.position_um);
}

void RunLedger::take_travel(std::int64_t time_us, std::int64_t position_um) {
    if (!first_knot_)
        first_knot_ = Knot{time_us, position_um};
    else
        travelled_.step_um = std::gcd(travelled_.step_um, position_um - last_knot_.position_um);
    last_knot_ = {time_us, position_um};
    if (direction_ != 0) {
        travel_.add(time_us, position_um * direction_);
        advance();
    } else if (std::abs(position_um - first_knot_->position_um) >= setting_out_um) {
        set_out(position_um > first_knot_->position_um ? 1 : -1);
    }
}

void RunLedger::set_out(int direction) {
    direction_ = direction;
    for (const Event& event : std::exchange(undirected_, {})) {
        if (event.record.name == LineName::drop)
            take_drop(event);
        else
            travel_.add(event.time_us, event.record.position_um * direction_);
    }
}

void RunLedger::take_drop(const Event& event) {
    const Commanded drop{.index = event.record.index,
                         .target = event.record.count,
                         .position_um = event.record.position_um * direction_,
                         .time_us = event.time_us,
                         .line = event.line};
    if (setup_.mode == Mode::line)
        return;
    for (GateLedger& gate : channel(event.record.channel).gates)
        gate.drop(drop);
}

void RunLedger::take_pulse(const Event& event) {
    ChannelOutcome& outcome = channel(event.record.channel);
    ++outcome.pulses_by_gate[event.record.gate];
    for (GateLedger& gate : outcome.gates)
        if (gate.gate().number == event.record.gate)
            gate.pulse({event.time_us, {event.record.width_us, event.record.depth_milli}, event.line});
}

void RunLedger::take_report(const Event& event) {
    if (event.record.name == LineName::halted)
        halted_reason_ = detail_of(event.body, 3);
    if (event.record.name == LineName::fault && faults_.size() < faults_kept)
        faults_.push_back(
            {event.record.channel, detail_of(event.body, 4), event.time_us, event.line});
}

void RunLedger::advance() {
    const std::int64_t settled_us = travel_.newest_us().value_or(0) - settling_us;
    for (auto& [number, outcome] : channels_)
        for (GateLedger& gate : outcome.gates)
            gate.advance(travel_, settled_us);
    travel_.forget_before(settled_us);
}

int RunLedger::best_direction() const {
    if (first_knot_ && last_knot_.position_um != first_knot_->position_um)
        return last_knot_.position_um > first_knot_->position_um ? 1 : -1;
    const Event* first = nullptr;
    for (const Event& event : undirected_) {
        if (event.record.name != LineName::drop)
            continue;
        if (first == nullptr)
            first = &event;
        else if (event.record.position_um != first->record.position_um)
            return event.record.position_um > first->record.position_um ? 1 : -1;
    }
    return 1;
}

void RunLedger::end_segment() {
    if (direction_ == 0)
        set_out(best_direction());
    for (auto& [number, outcome] : channels_)
        for (GateLedger& gate : outcome.gates)
            gate.end_segment(travel_);
    if (first_knot_) {
        travelled_.distance_um += (last_knot_.position_um - first_knot_->position_um) * direction_;
        travelled_.duration_us += last_knot_.time_us - first_knot_->time_us;
    }
}

void RunLedger::reboot() {
    if (failure_)
        return;
    end_segment();
    travel_.restart();
    first_knot_.reset();
    direction_ = 0;
}

void RunLedger::finish() {
    if (failure_)
        return;
    end_segment();
    for (auto& [number, outcome] : channels_) {
        for (GateLedger& gate : outcome.gates)
            gate.finish();
        const bool second_judges = outcome.gates.size() > 1 &&
                                   !outcome.setup.gates_declared &&
                                   outcome.gates[0].tally().pulses == 0 &&
                                   outcome.gates[1].tally().pulses > 0;
        outcome.judge = second_judges ? 1 : 0;
    }
}

} // namespace dropledger::ledger
