// Prints the reliability tables of analysis/field/README.md: efficiencies known exactly, and as
// 2,000 seeds counted by hand tell them.
#include "tests/analysis/field/simulated_field.hpp"

#include <fmt/format.h>

int main() {
    using namespace dropledger::field;
    const ReliabilityTable exact = reliability(200, 6);
    const ReliabilityTable counted = reliability(200, 6, 2000);
    fmt::print("| stated P(missing) | mean stated | missing indeed | silent drops | counted: mean "
               "stated | missing indeed | silent "
               "drops |\n| --- | --- | --- | --- | --- | --- | --- |\n");
    for (std::size_t i = 0; i < exact.size(); ++i) {
        fmt::print("| {:.1f} to {:.1f} |", 0.1 * static_cast<double>(i),
                   0.1 * static_cast<double>(i + 1));
        for (const Reliability& one : {exact[i], counted[i]}) {
            const auto n = static_cast<double>(one.stated);
            fmt::print(" {:.3f} | {:.3f} | {} |", one.sum / n, static_cast<double>(one.missing) / n,
                       one.stated);
        }
        fmt::print("\n");
    }
}
