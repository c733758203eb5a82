#include "bench/capture/capture.hpp"

#include "bench/capture/formats/samples.hpp"
#include "bench/capture/session.hpp"

#include "analysis/droplog/settings.hpp"

#include <fmt/format.h>

#include <array>

namespace dropledger::capture {

namespace {

struct Looked {
    std::string sha256;
    bool is_dump = false; // else a table
};

// The whole capture's hash, and what it is by its first character.
Result<Looked> look_at(const OpenBytes& open, const std::string& where) {
    auto source = open();
    if (!source)
        return source.error();
    droplog::Digest digest;
    std::array<char, 262144> room{};
    std::optional<char> first;
    for (;;) {
        const auto read = (*source)->read(room);
        if (!read)
            return read.error();
        const std::string_view bytes(room.data(), *read);
        if (bytes.empty())
            break;
        digest.add(bytes);
        const std::size_t at = bytes.find_first_not_of(" \t\r\n");
        if (!first && at != std::string_view::npos)
            first = bytes[at];
    }
    if (!first)
        return input_error(where, "is empty", "capture again");
    return Looked{.sha256 = droplog::to_hex(digest.finish()), .is_dump = first == '$'};
}

// Drops without commands, or places without travel, are nothing that a log could say.
Status check_wiring(const Request& request) {
    const auto* const mode = request.head.find("mode");
    if (mode != nullptr && *mode == droplog::name_of(droplog::Mode::line))
        return Done{};
    for (const GateWire& gate : request.wiring.gates) {
        const bool commanded =
            std::any_of(request.wiring.commands.begin(), request.wiring.commands.end(),
                        [&](const CommandWire& one) { return one.channel == gate.channel; });
        if (!commanded)
            return input_error(
                request.where,
                fmt::format("channel {} has gates and no command is wired", gate.channel),
                "wire the signal that opens its valve: `command` under [[channel]]");
    }
    return Done{};
}

} // namespace

Result<Captured> capture_to_log(const Request& request) {
    if (Status sense = check_wiring(request); !sense)
        return sense.error();
    const auto looked = look_at(request.open, request.where);
    if (!looked)
        return looked.error();
    Session session(request, looked->sha256);
    const auto read = [&]() -> Result<Extent> {
        if (!looked->is_dump)
            return read_samples(request.open, request.where, request.wiring.wires,
                                request.wiring.sample_rate_hz, session);
        auto source = request.open();
        if (!source)
            return source.error();
        return read_vcd(**source, request.where, request.wiring.wires, session);
    };
    const auto extent = read();
    if (!extent)
        return extent.error();
    return session.finish(*extent);
}

} // namespace dropledger::capture
