#include "bench/commands/simulate/simulate_leads.hpp"

#include "analysis/base/readers/nesting.hpp"
#include "analysis/base/readers/toml_table.hpp"
#include "bench/io/file_source.hpp"

#include <fmt/format.h>

namespace dropledger::cli {

namespace {

constexpr std::int64_t longest_lead_us = 1'000'000; // as a scenario takes it

void take_lead(TomlTable& table, std::size_t in_order, bench_virtual::Scenario& scenario) {
    if (!table.has("lead_us"))
        return;
    const std::int64_t channel =
        table.as_whole("channel").value_or(static_cast<std::int64_t>(in_order));
    const auto lead_us = table.whole_number("lead_us", 0, longest_lead_us);
    if (channel < 0 || channel >= static_cast<std::int64_t>(scenario.channels.size()))
        return table.fail("channel",
                          fmt::format("there is no channel {} on this bench: it has {}", channel,
                                      scenario.channels.size()),
                          "name the settings file of this machine");
    if (lead_us)
        scenario.channels[static_cast<std::size_t>(channel)].lead_us = *lead_us;
}

} // namespace

Status take_leads(const std::string& path, bench_virtual::Scenario& scenario) {
    auto document = files::whole_file(path, most_toml_bytes).and_then([&](const std::string& text) {
        return TomlDocument::parse(text, path);
    });
    if (!document)
        return document.error();
    std::size_t in_order = 0;
    for (TomlTable& table : document->root().tables("channel"))
        take_lead(table, in_order++, scenario);
    if (document->problem())
        return *document->problem();
    return Done{};
}

} // namespace dropledger::cli
