// What `calibrate efficiency` found, and how it is put out.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "bench/commands/calibrate/units.hpp"
#include "calibration/efficiency/efficiency.hpp"
#include "calibration/efficiency/gate_matching.hpp"

#include <nlohmann/json_fwd.hpp>

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace dropledger::cli::efficiency {

using namespace dropledger::calibration;

// Which of the two gates a record is for: 0 or 1.
enum class SeenBy : std::uint8_t { first, second };
inline constexpr std::array gate_words{EnumName{SeenBy::first, "first"},
                                       EnumName{SeenBy::second, "second"}};
static_assert(names_all<gate_words>());

struct MatchedLog {
    std::string file;
    int channel = 0;
    Matching matching;
    std::array<PulseKinds, 2> gates;
    std::array<std::optional<double>, 2> lost_to_dead_time;
};

struct Findings {
    SeenBy gate = SeenBy::first;
    std::vector<MatchedLog> logs;
    std::optional<statistics::TwoObservers> seen;
    std::optional<statistics::Recapture> two_gates;
    std::vector<Dependence> dependence;
    std::optional<statistics::Estimate> hand_count;
    std::optional<WeighingResult> weighing;
    std::vector<Comparison> comparison;
    // By a way that does not need the other gate
    std::vector<std::pair<std::string, ImpliedDependence>> implied;
};

using AllFindings = OfUnits<Findings>;

[[nodiscard]] nlohmann::ordered_json json_of_all(const AllFindings& all);
[[nodiscard]] std::string text_of_all(const AllFindings& all);
[[nodiscard]] nlohmann::ordered_json json_of(const Findings& found);
[[nodiscard]] std::string text_of(const Findings& found);

} // namespace dropledger::cli::efficiency
