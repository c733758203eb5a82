#include "bench/cli/audit.hpp"
#include "bench/cli/command.hpp"
#include "bench/cli/simulate.hpp"

int main(int argc, char** argv) {
    dropledger::cli::Program program;
    dropledger::cli::add_simulate(program);
    dropledger::cli::add_audit(program);
    return program.run(argc, argv);
}
