// Writes a batch file of an invented batch to standard output: sample_batch PROFILE.toml ID OPENED
// MISSES, where MISSES are the misses in 500 drops of each of its eight tested units, with commas.
#include "analysis/base/dates.hpp"
#include "analysis/base/text.hpp"
#include "analysis/batch/chain/batch_file.hpp"
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
    const droplog::PrivateKey key{7};
    const auto opened_s = static_cast<std::int64_t>(parse_rfc3339(argv[3], 0).value());
    OpenRequest request;
    request.id = argv[2];
    request.rehearsal = true;
    for (int i = 1; i <= 40; ++i)
        request.serials.push_back(fmt::format("SU-{:04}", i));
    const std::string profile = content(argv[1]);
    request.profile = {"sample", droplog::to_hex(droplog::sha256(profile)), profile};
    request.plan = *own_plan(40, 8, 0);
    request.choice.origin = SeedOrigin::typed;
    request.choice.seed = 0;
    auto batch = open_batch(std::move(request), {key, argv[3]});
    Addition addition;
    std::int64_t next = 0;
    for (const std::string_view misses : split(argv[4], ',')) {
        TestedRun& run = addition.runs.emplace_back();
        run.unit = batch->chosen.at(static_cast<std::size_t>(next));
        run.run = fmt::format("R-{}-{}", batch->id, run.unit);
        run.file = run.run + ".droplog";
        run.sha256 = droplog::to_hex(droplog::sha256(run.run));
        run.signed_by = droplog::to_hex(droplog::public_key_of(key));
        run.started = rfc3339(opened_s + 600 * ++next);
        run.ended = rfc3339(opened_s + 600 * next + 300);
        run.outcome = verdict::Outcome::within;
        run.drops = 500;
        run.misses = *parse_int(misses);
    }
    if (const Status added =
            add_runs(*batch, std::move(addition), {key, rfc3339(opened_s + 86'400)});
        !added) {
        fmt::print(stderr, "{}\n", added.error().message());
        return 65;
    }
    fmt::print("{}", to_text(*batch));
    return 0;
}
