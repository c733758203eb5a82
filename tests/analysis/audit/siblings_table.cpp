// Prints the false alarms of the comparison of units: siblings_table [MACHINES]
#include "analysis/base/text.hpp"
#include "tests/analysis/audit/sibling_machines.hpp"

#include <fmt/format.h>

int main(int argc, char** argv) {
    const auto machines = argc > 1 ? dropledger::parse_int(argv[1]).value_or(1000) : 1000;
    fmt::print("| six equal units | machines with a false alarm % |\n| --- | --- |\n");
    for (const auto& found : dropledger::testing::false_alarms(static_cast<int>(machines)))
        fmt::print("| {} | {:.1f} |\n", found.name, 100.0 * found.alarms / found.machines);
}
