#include "bench/commands/simulate/simulate_vcd.hpp"

#include "bench/commands/simulate/settings_file.hpp"
#include "bench/io/streamed_file.hpp"
#include "bench/io/write_aside.hpp"
#include "bench/virtual/vcd_trace.hpp"

namespace dropledger::cli {

Status write_trace(const bench_virtual::Scenario& scenario, const TraceFiles& to,
                   const bench_virtual::TruthSink& truth) {
    if (to.wiring)
        if (Status done = files::write_new_file(*to.wiring, vcd_wiring(scenario)); !done)
            return done;
    if (to.settings)
        if (Status done = files::write_new_file(*to.settings, settings_file(scenario)); !done)
            return done;
    auto dump = files::StreamedFile::create(to.vcd, files::Place::fresh);
    if (!dump)
        return dump.error();
    trace_vcd(scenario,
              {.text = [&dump](std::string_view text) { dump->write(text); }, .truth = truth});
    return dump->finish();
}

} // namespace dropledger::cli
