#include "bench/cli/audit.hpp"
#include "bench/cli/batch.hpp"
#include "bench/cli/book.hpp"
#include "bench/cli/calibrate.hpp"
#include "bench/cli/check.hpp"
#include "bench/cli/command.hpp"
#include "bench/cli/demo.hpp"
#include "bench/cli/field.hpp"
#include "bench/cli/plan.hpp"
#include "bench/cli/run.hpp"
#include "bench/cli/simulate.hpp"

int main(int argc, char** argv) {
    using namespace dropledger::cli;
    Program program;
    add_demo(program);
    add_run(program);
    add_audit(program);
    add_check(program);
    add_field(program);
    add_plan(program);
    add_calibrate(program);
    add_batch(program);
    add_book(program);
    add_simulate(program);
    return program.run(argc, argv);
}
