#include "bench/cli/command.hpp"

int main(int argc, char** argv) {
    dropledger::cli::Program program;
    return program.run(argc, argv);
}
