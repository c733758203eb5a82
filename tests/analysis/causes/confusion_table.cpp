// Prints the confusion table of analysis/causes/README.md: causes_confusion [RUNS], 200 unless
// given.
#include "tests/analysis/causes/simulated_runs.hpp"

#include <fmt/format.h>

#include <cstdlib>

int main(int argc, char** argv) {
    using namespace dropledger::causes;
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
}
