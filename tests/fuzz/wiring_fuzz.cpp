// The wiring file of `dropledger capture`.
#include "bench/capture/wiring.hpp"
#include "tests/fuzz/target.hpp"

#include <set>

using namespace dropledger::capture;

namespace {

void require_whole(const Wiring& wiring) {
    const std::set<std::string> names(wiring.wires.begin(), wiring.wires.end());
    fuzz::require(names.size() == wiring.wires.size(), "each signal is one thing");
    fuzz::require(!wiring.gates.empty(), "wiring that was taken has a gate");
    std::set<std::pair<int, int>> gates;
    for (const GateWire& gate : wiring.gates) {
        fuzz::require(gate.wire < wiring.wires.size(), "a gate's wire is one of the names");
        fuzz::require(gates.emplace(gate.channel, gate.gate).second, "a gate is wired once");
        fuzz::require(gate.channel >= 0 && gate.channel <= most_channel, "a channel that there is");
    }
    for (const CommandWire& command : wiring.commands)
        fuzz::require(command.wire < wiring.wires.size(), "a command's wire is one of the names");
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const auto read = parse_wiring(fuzz::text_of(bytes, size), "wiring.toml");
    if (read)
        require_whole(*read);
    else
        fuzz::require(!read.error().message().empty(), "a refusal says why");
    return 0;
}
