#include "calibration/flight/terminal_speed.hpp"

#include "analysis/base/readers/toml_table.hpp"
#include "calibration_crops.hpp"

#include <cmath>
#include <optional>

namespace dropledger::calibration {

namespace {

TerminalSpeed of_range(double low_mps, double high_mps, std::string source, bool known) {
    return {.mps = {(low_mps + high_mps) / 2.0, (high_mps - low_mps) / std::sqrt(12.0)},
            .low_mps = low_mps,
            .high_mps = high_mps,
            .known = known,
            .source = std::move(source)};
}

std::optional<TerminalSpeed> stated(TomlTable facts) {
    constexpr double least = 0.1;
    constexpr double most = 50.0;
    auto fact = facts.table("terminal_speed_mps");
    if (!fact)
        return std::nullopt;
    const auto low = fact->number("low", least, most);
    const auto high = fact->number("high", least, most);
    if (!low || !high)
        throw BrokenInvariant("a crop's terminal speed without its range");
    return of_range(*low, *high, fact->text("source").value_or(""), true);
}

} // namespace

TerminalSpeed terminal_speed(const std::string& crop) {
    for (const crops::Text& text : crops::texts()) {
        auto document = TomlDocument::parse(text.content, std::string{text.name});
        if (!document)
            throw BrokenInvariant(document.error().message());
        TomlTable facts = document->root();
        if (text.name != crop && facts.text("name") != crop)
            continue;
        if (auto found = stated(facts))
            return *found;
    }
    constexpr double slowest_mps = 3.0; // light vegetable seed
    constexpr double fastest_mps = 12.0;
    return of_range(slowest_mps, fastest_mps, "no fact of this crop: any seed, from memory", false);
}

} // namespace dropledger::calibration
