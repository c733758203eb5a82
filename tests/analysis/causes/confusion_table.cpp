// Prints the tables of analysis/causes/README.md: causes_confusion [RUNS], 200 unless given.
#include "tests/analysis/causes/simulated_runs.hpp"

#include <fmt/format.h>

#include <cstdlib>

using namespace dropledger::causes;

namespace {

void print_wandering(int runs) {
    fmt::print(
        "\n| correlation | drift mm | drops | valve_drift % | valve_lag % |\n| --- | --- | --- "
        "| --- | --- |\n");
    for (const Wander& wander :
         {Wander{.memory = 0.0, .drops = 250}, Wander{.memory = 0.6, .drops = 100},
          Wander{.memory = 0.6, .drops = 1000}, Wander{.memory = 0.9, .drops = 100},
          Wander{.memory = 0.9, .drops = 250}, Wander{.memory = 0.9, .drops = 1000},
          Wander{.memory = 0.0, .drift_mm = 8.0, .drops = 250},
          Wander{.memory = 0.6, .drift_mm = 8.0, .drops = 1000},
          Wander{.memory = 0.9, .drift_mm = 24.0, .drops = 1000}}) {
        auto counts = named_of_wandering(wander, runs, 31);
        fmt::print("| {} | {} | {} | {:.1f} | {:.1f} |\n", wander.memory, wander.drift_mm,
                   wander.drops, 100.0 * counts["valve_drift"] / runs,
                   100.0 * counts["valve_lag"] / runs);
    }
}

} // namespace

int main(int argc, char** argv) {
    const auto runs = static_cast<std::uint32_t>(argc > 1 ? std::atoi(argv[1]) : 200);
    const char* const kinds[] = {"",
                                 "bad_cell",
                                 "bridging",
                                 "empty_container",
                                 "start_loss",
                                 "valve_drift",
                                 "valve_lag",
                                 "double_feeding",
                                 "gate_going_blind"};
    fmt::print("| true cause | strength | none |");
    for (const char* const kind : kinds)
        if (*kind != '\0')
            fmt::print(" {} |", kind);
    fmt::print("\n| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n");
    for (int f = 0; f < fault_count; ++f) {
        auto counts = confusion(static_cast<Fault>(f), runs, 17);
        fmt::print("| {} | {} |", name_of(static_cast<Fault>(f)),
                   strength_of(static_cast<Fault>(f)));
        for (const char* const kind : kinds)
            fmt::print(" {} |", counts[kind]);
        fmt::print("\n");
    }
    print_wandering(5 * static_cast<int>(runs));
}
