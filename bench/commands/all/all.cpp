#include "bench/commands/all/all.hpp"

#include "bench/commands/audit/audit.hpp"
#include "bench/commands/batch/batch.hpp"
#include "bench/commands/book/book.hpp"
#include "bench/commands/calibrate/calibrate.hpp"
#include "bench/commands/capture/capture.hpp"
#include "bench/commands/check/check.hpp"
#include "bench/commands/compare/compare.hpp"
#include "bench/commands/demo/demo.hpp"
#include "bench/commands/field/field.hpp"
#include "bench/commands/plan/plan.hpp"
#include "bench/commands/run/run.hpp"
#include "bench/commands/serve/serve.hpp"
#include "bench/commands/setup/setup.hpp"
#include "bench/commands/simulate/simulate.hpp"

namespace dropledger::cli {

void add_all(Program& program) {
    add_demo(program);
    add_serve(program);
    add_setup(program);
    add_run(program);
    add_audit(program);
    add_compare(program);
    add_check(program);
    add_field(program);
    add_plan(program);
    add_calibrate(program);
    add_batch(program);
    add_book(program);
    add_simulate(program);
    add_capture(program);
}

} // namespace dropledger::cli
