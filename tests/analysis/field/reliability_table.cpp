// Prints the reliability table of analysis/field/README.md.
#include "tests/analysis/field/simulated_field.hpp"

#include <fmt/format.h>

int main() {
    using namespace dropledger::field;
    fmt::print("| stated P(missing) | mean stated | missing indeed | silent drops |\n| --- | --- | --- | --- |\n");
    const ReliabilityTable table = reliability(200, 6);
    for (std::size_t i = 0; i < table.size(); ++i)
        if (table[i].stated > 0)
            fmt::print("| {:.1f} to {:.1f} | {:.3f} | {:.3f} | {} |\n", 0.1 * static_cast<double>(i),
                       0.1 * static_cast<double>(i + 1), table[i].sum / static_cast<double>(table[i].stated),
                       static_cast<double>(table[i].missing) / static_cast<double>(table[i].stated), table[i].stated);
}
