#include "bench/commands/simulate/simulate_field.hpp"

#include "bench/commands/shell/standard.hpp"
#include "bench/io/streamed_file.hpp"
#include "bench/virtual/night.hpp"

#include <fmt/format.h>

namespace dropledger::cli {

Result<int> write_night(const NightFiles& files) {
    auto table = dropledger::files::StreamedFile::create(files.table);
    if (!table)
        return table.error();
    std::optional<dropledger::files::StreamedFile> truth;
    if (files.truth) {
        auto created = dropledger::files::StreamedFile::create(*files.truth);
        if (!created)
            return created.error();
        truth = std::move(*created);
    }
    bench_virtual::NightSinks sinks{.table = [&](std::string_view line) { table->write(line); },
                                    .truth = {}};
    if (truth)
        sinks.truth = [&](std::string_view line) { truth->write(line); };
    const auto summary = bench_virtual::simulate_night(files.seed, sinks);
    if (const Status done = table->finish(); !done)
        return done.error();
    if (truth)
        if (const Status done = truth->finish(); !done)
            return done.error();
    tell("simulated a night (invented, seed {}): {} drops, {} silent, {} of them without "
         "seed, {} alerts: {}\n",
         files.seed, summary.drops, summary.silent, summary.missing, summary.alerts, files.table);
    return 0;
}

} // namespace dropledger::cli
