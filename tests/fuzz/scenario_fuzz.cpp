// A scenario of the virtual bench.
#include "bench/virtual/unit/scenario.hpp"
#include "tests/fuzz/target.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const auto read =
        dropledger::bench_virtual::parse_scenario(fuzz::text_of(bytes, size), "scenario.toml");
    if (!read)
        return 0;
    fuzz::require(!read->channels.empty(), "a scenario that was taken has a channel");
    static_cast<void>(dropledger::bench_virtual::suggested_settings(*read));
    return 0;
}
