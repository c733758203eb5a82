// Writes a batch file of an invented batch to standard output: sample_batch PROFILE.toml ID OPENED
// MISSES, where MISSES are the misses in 500 drops of each of its eight tested units, with commas.
#include "analysis/base/text.hpp"
#include "analysis/batch/batch_file.hpp"
#include "analysis/droplog/seal.hpp"

#include <fmt/format.h>

#include <fstream>
#include <iterator>

namespace {

using namespace dropledger;
using namespace dropledger::batch;

std::string content(const char* path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

} // namespace

int main(int argc, char** argv) {
    if (argc != 5)
        return 64;
    OpenRequest request;
    request.id = argv[2];
    request.opened = argv[3];
    for (int i = 1; i <= 40; ++i)
        request.serials.push_back(fmt::format("SU-{:04}", i));
    const std::string profile = content(argv[1]);
    request.profile = {"sample", droplog::to_hex(droplog::sha256(profile)), profile};
    request.plan = *own_plan(40, 8, 0);
    auto batch = open_batch(std::move(request));
    std::size_t next = 0;
    for (const std::string_view misses : split(argv[4], ',')) {
        TestedRun run;
        run.unit = batch->chosen.at(next++);
        run.run = fmt::format("R-{}-{}", batch->id, run.unit);
        run.file = run.run + ".droplog";
        run.sha256 = droplog::to_hex(droplog::sha256(run.run));
        run.started = batch->opened;
        run.outcome = verdict::Outcome::within;
        run.drops = 500;
        run.misses = *parse_int(misses);
        if (const Status added = add_runs(*batch, {run}, ""); !added) {
            fmt::print(stderr, "{}\n", added.error().message());
            return 65;
        }
    }
    fmt::print("{}", to_text(*batch));
    return 0;
}
