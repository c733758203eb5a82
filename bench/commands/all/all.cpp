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
    program.subcommand("demo", "virtual bench, run, audit and report in one go, into a folder",
                       declare_demo);
    program.subcommand("serve", "the whole job on pages in a browser on this machine",
                       declare_serve);
    program.subcommand("setup", "a machine's settings file: asked for, and tried on the bench",
                       declare_setup);
    program.subcommand("run", "record a bench run", declare_run);
    program.subcommand("audit", "reconcile drops with what fell, compute indices, give a verdict",
                       declare_audit);
    program.subcommand("compare",
                       "two runs of the same units side by side: before a repair, and after it",
                       declare_compare);
    program.subcommand("check", "a log's integrity: lines, sequence, seals, signature",
                       declare_check);
    program.subcommand("field", "after the missing-seed alerts: gaps, alerts judged, re-seeding",
                       declare_field);
    program.subcommand("plan", "how many drops or units are needed, and what a plan does",
                       declare_plan);
    program.subcommand("calibrate", "know the sensor and the unit before judging either",
                       declare_calibrate);
    program.subcommand("batch", "a batch of units: plan, tests, decision, signed certificate",
                       declare_batch);
    program.subcommand("book", "units, lots, calibrations, runs and verdicts over the seasons",
                       declare_book);
    program.subcommand("simulate", "a virtual bench, on a port or straight into a log",
                       declare_simulate);
    program.subcommand("capture", "a logic analyser's capture into a log, to be audited",
                       declare_capture);
}

} // namespace dropledger::cli
