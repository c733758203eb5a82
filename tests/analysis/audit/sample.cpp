#include "sample.hpp"

#include "analysis/audit/audit.hpp"
#include "analysis/audit/spacings.hpp"

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/base/readers/open_string.hpp"
#include "analysis/droplog/line.hpp"
#include "analysis/droplog/writer.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <vector>

namespace dropledger::audit::sample {

namespace {

using ledger::Mode;

constexpr std::int64_t spacing_um = 180'000;
constexpr std::int64_t us_per_drop = 360'000; // at 0.5 m/s

struct Event {
    std::int64_t time_us = 0;
    int channel = -1; // travel
    std::uint32_t drop = 0;
    bool pulse = false;
    std::int64_t position_um = 0;
};

// What falls for a drop: misses and multiples in single mode, short and over portions, clumps in a
// line.
int seeds_of(const Run& run, int k) {
    const Mode mode = run.mode;
    if (mode == Mode::single && run.in_rows)
        return k % 61 < 6 ? 0 : 1;
    if (mode == Mode::single && !run.by_cell) // four misses and a double in a hundred, at no period
        return (k * 7919) % 101 < 4 ? 0 : (k * 7919) % 101 == 50 ? 2 : 1;
    if (mode == Mode::single)
        return k % 17 == 5 ? 0 : k % 23 == 7 ? 2 : 1;
    if (mode == Mode::portion)
        return k % 31 == 30 ? 0 : k % 4 == 0 ? 4 : k % 9 == 1 ? 6 : 5;
    return (k * 7919) % 11;
}

void add_drop(std::vector<Event>& events, const Run& run, int channel, int k) {
    const std::int64_t at_us = 100'000 + us_per_drop * (k + 1);
    const auto index = static_cast<std::uint32_t>(k);
    if (run.mode != Mode::line)
        events.push_back({at_us - 90'000, channel, index, false, 50'000 + spacing_um * (k + 1)});
    for (int seed = 0; seed < seeds_of(run, k + channel); ++seed) {
        const std::int64_t scatter_us = (k * 7919 + channel * 31) % 2001 - 1000;
        events.push_back({at_us + scatter_us + 7'000 * seed, channel, index, true, 0});
    }
}

std::vector<Event> events_of(const Run& run) {
    std::vector<Event> events;
    for (int tick = 0; tick * 200'000 < us_per_drop * (run.drops + 3); ++tick)
        events.push_back({tick * 200'000, -1, 0, false, tick * 100'000});
    for (int channel = 0; channel < run.channels; ++channel)
        for (int k = 0; k < run.drops; ++k)
            add_drop(events, run, channel, k);
    std::stable_sort(events.begin(), events.end(),
                     [](const Event& a, const Event& b) { return a.time_us < b.time_us; });
    return events;
}

std::string line_of(const Event& event, std::uint32_t seq, Mode mode) {
    const droplog::Stamp at{seq, static_cast<std::uint32_t>(event.time_us)};
    if (event.channel < 0)
        return droplog::travel_line(at, event.position_um);
    if (event.pulse)
        return droplog::pulse_line(at, {event.channel, 1, 1200, 400});
    return droplog::drop_line(
        at, {event.channel, event.drop, event.position_um, mode == Mode::portion ? 5U : 1U});
}

void write_settings(droplog::Writer& writer, const Run& run) {
    writer.start("00000000-0000-4000-8000-000000000001", "2026-01-05T08:00:00Z");
    writer.set("mode", ledger::name_of(run.mode));
    writer.set("spacing_um", std::to_string(spacing_um));
    writer.set("count", run.mode == Mode::portion ? "5" : "1");
    writer.set("rate_per_m_milli", "28000");
    writer.set("speed_um_s", "500000");
    writer.set("crop", run.crop);
    for (const std::string& remark : run.remarks)
        writer.note(remark);
    for (int channel = 0; channel < run.channels; ++channel) {
        writer.channel_set(channel, "unit", run.unit + std::to_string(channel));
        writer.channel_set(channel, "row", std::to_string(channel + 1));
        if (run.places) {
            writer.channel_set(channel, "gate1_place", "below");
            writer.channel_set(channel, "gate1_fall_us", "0");
        }
    }
}

std::string profile_of(Mode mode) {
    const std::string head = "name = 'sample'\ntitle = 'made for tests'\nmode = '" +
                             std::string(ledger::name_of(mode)) +
                             "'\nleast_drops = 100\nallowance_mm = 2\n[limits]\n";
    if (mode == Mode::single)
        return head +
               "miss_index = 0.05\nmultiples_index = 0.01\nprecision = 0.29\noffset_mm = 10\n";
    if (mode == Mode::portion)
        return head + "empty_share = 0.02\nexact_share = 0.9\nspread_mm = 60\n";
    return head + "cv = 0.4\nrate_error = 0.05\n";
}

audit::AuditOptions options_for(const char* file, Mode mode) {
    audit::AuditOptions options;
    options.file = file;
    options.choose_profile = [mode](const droplog::Header&, Mode) -> Result<audit::ProfileChoice> {
        auto profile = verdict::parse_profile(profile_of(mode), "sample.toml");
        if (!profile)
            return profile.error();
        return audit::ProfileChoice{*std::move(profile), ""};
    };
    return options;
}

} // namespace

std::string log_of(const Run& run) {
    std::string bytes;
    droplog::Writer writer([&](std::string_view line) { bytes += line; });
    write_settings(writer, run);
    std::uint32_t seq = 0;
    writer.sent(droplog::encode(fmt::format("arm,{},{},{},500000,{},{}", ledger::name_of(run.mode),
                                            spacing_um, run.mode == Mode::portion ? 5 : 1,
                                            (1 << run.channels) - 1, run.drops)));
    writer.controller(droplog::hello_line({seq++, 0}, {1, "boot-1", 1, "sample"}));
    writer.controller(droplog::state_line({seq++, 0}, "started", ""));
    const auto events = events_of(run);
    for (const Event& event : events)
        writer.controller(line_of(event, seq++, run.mode));
    const auto end_us = static_cast<std::uint32_t>(events.back().time_us);
    writer.controller(droplog::state_line({seq++, end_us}, "halted", "count"));
    writer.seal();
    if (run.closed)
        writer.close("count", std::nullopt);
    return bytes;
}

audit::AuditReport report_of(const Run& run) {
    return audit_log(open_string(log_of(run)), options_for("sample.droplog", run.mode)).value();
}

audit::AuditReport report_of_spacings() {
    audit::AuditOptions options = options_for("tape.csv", Mode::single);
    options.overrides.spacing_um = spacing_um;
    return audit_spacings(open_string("spacing_mm\n180\n179\n360\n20\n181\n"), options).value();
}

} // namespace dropledger::audit::sample
