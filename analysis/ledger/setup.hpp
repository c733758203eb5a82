// What the ledger must know of a run before its first line: mode, spacing, and each channel's
// gates.
//
// The values come from the log's header, from a calibration (flight times, pulse classifier) and
// from the command line; how they were obtained is not the ledger's business.
// Units: in the names.
// Undefined when: a value is not known, then it is an empty optional and `assumed` says what stands
// in for it.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/droplog/integrity.hpp"
#include "analysis/droplog/settings.hpp"

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::ledger {

using droplog::GatePlace;
using droplog::Mode;
using droplog::mode_of;
using droplog::name_of;

struct PulseShape {
    std::uint32_t width_us = 0;
    std::uint32_t depth_milli = 0;
};

// How many seeds a pulse holds; 0 for debris. Empty: one pulse is one seed.
using SeedsInPulse = std::function<std::uint32_t(PulseShape)>;

struct Gate {
    int number = 0;
    GatePlace place = GatePlace::below;
    std::int64_t fall_us = 0; // from the gate to the ground; nothing where above
    std::optional<std::int64_t> fall_u_us{}; // its standard uncertainty, where it is stated
    std::int64_t dead_us = 0;
    SeedsInPulse seeds_in_pulse;
    bool place_assumed = false; // nobody says where it sits
    bool fall_assumed = false;  // nobody says how long seeds fall from it
};

struct ChannelSetup {
    int channel = 0;
    std::string unit;
    std::optional<int> row;
    std::optional<int> cells;
    std::optional<std::int64_t> lead_us;
    std::vector<Gate> gates; // the audit's judge first, then the channel's other gate
    bool gates_declared = false;
    std::vector<std::string> assumed; // sentences for the report

    // A declared judge that saw nothing is a fact; an assumed one may not be there, and the other
    // gate stands in.
    [[nodiscard]] bool may_judge(int gate) const;
    // Somebody says where this gate sits.
    [[nodiscard]] bool states_place_of(int gate) const;
};

// The log was made of what an instrument saw, not by a controller.
struct Captured {
    std::int64_t step_ps = 0; // between two samples
    droplog::CapturedTravel travel = droplog::CapturedTravel::encoder;
};

struct RunSetup {
    Mode mode = Mode::single;
    std::optional<std::int64_t> spacing_um;
    std::optional<std::uint32_t> count;
    std::optional<std::int64_t> rate_per_m_milli;
    std::optional<std::int64_t> speed_um_s;
    std::optional<Captured> captured;
    std::map<int, ChannelSetup> channels;
    std::vector<std::string> assumed;

    // The channel's setup; one with the usual assumptions where the header does not name it.
    [[nodiscard]] ChannelSetup channel(int number) const;
};

// What the operator of the audit says over what the log says.
struct SetupOverrides {
    std::optional<Mode> mode;
    std::optional<std::int64_t> spacing_um;
};

// Fails where a setting is there and cannot be what it must be (a spacing of 0, a mode nobody
// knows, …).
[[nodiscard]] Result<RunSetup> run_setup(const droplog::Header& header,
                                         const SetupOverrides& overrides);

} // namespace dropledger::ledger
