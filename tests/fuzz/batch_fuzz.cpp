// A batch file: what was read is written again, and reads the same.
#include "analysis/batch/chain/batch_file.hpp"
#include "tests/fuzz/target.hpp"

using namespace dropledger::batch;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const auto batch = parse_batch(fuzz::text_of(bytes, size), "some.batch.json");
    if (!batch)
        return 0;
    const std::string written = to_text(*batch);
    const auto again = parse_batch(written, "written.batch.json");
    fuzz::require(static_cast<bool>(again), "a batch that was written can be read:\n" + written);
    fuzz::require(to_text(*again) == written, "written again, it is the same:\n" + written);
    return 0;
}
