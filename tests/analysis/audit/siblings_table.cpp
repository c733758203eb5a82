// Prints the false alarms and the power of the comparison of units: siblings_table [MACHINES]
#include "analysis/base/text.hpp"
#include "tests/analysis/audit/sibling_machines.hpp"

#include <fmt/format.h>

int main(int argc, char** argv) {
    const auto machines = argc > 1 ? dropledger::parse_int(argv[1]).value_or(1000) : 1000;
    fmt::print("| six equal units | machines with a false alarm % |\n| --- | --- |\n");
    for (const auto& found : dropledger::testing::false_alarms(static_cast<int>(machines)))
        fmt::print("| {} | {:.1f} |\n", found.name, 100.0 * found.alarms / found.machines);
    fmt::print("\n| one unit of six | named % | named % were nothing too small |\n"
               "| --- | --- | --- |\n");
    for (const auto& found : dropledger::testing::powers(static_cast<int>(machines)))
        fmt::print("| {} | {:.1f} | {:.1f} |\n", found.name,
                   100.0 * found.by_profile / found.machines,
                   100.0 * found.at_all / found.machines);
}
