#include "bench/commands/all/all.hpp"
#include "bench/commands/shell/command.hpp"

int main(int argc, char** argv) {
    dropledger::cli::Program program;
    dropledger::cli::add_all(program);
    return program.run(argc, argv);
}
