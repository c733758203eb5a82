#include "bench/commands/capture/capture.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/readers/nesting.hpp"
#include "bench/capture/capture.hpp"
#include "bench/commands/run/settings/run_options.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/key_file.hpp"
#include "bench/io/run_counter.hpp"
#include "bench/io/streamed_file.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <sys/stat.h>

#include <cmath>

namespace dropledger::cli {

namespace {

using capture::Captured;

struct Options {
    std::string capture;
    std::string wiring;
    std::string settings;
    std::string log;
    std::optional<std::string> key;
    std::optional<std::string> started;
    bool json = false;
};

// As stated; else when the capture's file was last written, or now for a pipe.
Result<std::string> start_of(const Options& options) {
    if (options.started) {
        const auto seconds = parse_rfc3339(*options.started, 0);
        if (!seconds || *seconds < 0.0 || *seconds > 4e9)
            return usage("--started", "\"" + *options.started + "\" is no time",
                         "write 2026-03-20T08:00:00Z");
        return rfc3339(std::llround(*seconds));
    }
    struct stat about {};
    if (options.capture != "-" && ::stat(options.capture.c_str(), &about) == 0)
        return rfc3339(about.st_mtim.tv_sec);
    return now_utc();
}

// Units, rows, spacing and crop, as a run has them; the number of drops is what was captured.
Result<droplog::Header> head_of(const Options& options) {
    RunOptions run;
    if (Status read = add_settings_file(options.settings, run); !read)
        return read.error();
    run.drops = run.drops.value_or(1);
    const auto plan = plan_of(run);
    if (!plan)
        return plan.error();
    const auto started = start_of(options);
    if (!started)
        return started.error();
    droplog::Header head = recorder::head_of(*plan, *started);
    if (!options.started)
        head.run["capture_start"] = "file_time";
    return head;
}

nlohmann::ordered_json json_of(const Options& options, const Captured& captured) {
    nlohmann::ordered_json channels = nlohmann::ordered_json::array();
    for (const auto& [channel, counts] : captured.counts.channels)
        channels.push_back({{"channel", channel},
                            {"drops", counts.drops},
                            {"pulses", counts.pulses},
                            {"two_samples_or_fewer", counts.thin},
                            {"blocked", counts.blocked},
                            {"glitches", counts.glitches}});
    return {{"schema", "dropledger/capture/1"},
            {"log", options.log},
            {"run", captured.run_id},
            {"capture_sha256", captured.sha256},
            {"seconds", static_cast<double>(captured.extent.last_ps) / 1e12},
            {"changes", captured.extent.changes},
            {"sample_us", static_cast<double>(captured.step_ps) / 1e6},
            {"sample_stated", captured.step_stated},
            {"travelled_mm", captured.counts.travelled_um / 1000.0},
            {"encoder_steps_lost", captured.counts.steps_lost},
            {"channels", std::move(channels)},
            {"doubts", captured.doubts}};
}

std::string text_of(const Options& options, const Captured& captured) {
    std::string text =
        fmt::format("{:.3f} s captured, {} changes, one sample is {:g} us{}; {:.3f} m travelled\n",
                    static_cast<double>(captured.extent.last_ps) / 1e12, captured.extent.changes,
                    static_cast<double>(captured.step_ps) / 1e6,
                    captured.step_stated ? " (stated)" : " (as its times show)",
                    captured.counts.travelled_um / 1e6);
    for (const auto& [channel, counts] : captured.counts.channels)
        text += fmt::format(
            "channel {:2}: {} drops; pulses: unit's gate {}, bench's gate {}{}{}\n", channel,
            counts.drops, counts.pulses[0], counts.pulses[1],
            counts.glitches > 0 ? fmt::format("; {} glitches left out", counts.glitches) : "",
            counts.blocked > 0 ? fmt::format("; blocked {} times", counts.blocked) : "");
    for (const std::string& doubt : captured.doubts)
        text += "doubt: " + doubt + "\n";
    return text + fmt::format("written: {}\nnext: dropledger audit {}\n", options.log, options.log);
}

// What signs the log, and its number among those that the key signed.
Status take_key(const std::string& file, capture::Request& request) {
    const auto key = files::read_key_file(file);
    if (!key)
        return key.error();
    request.key = *key;
    const auto ticket = files::take_run_number(file);
    if (!ticket)
        return ticket.error();
    request.counted["run_number"] = std::to_string(ticket->number);
    request.counted["previous_seal"] = ticket->previous_seal;
    return Done{};
}

Result<Captured> convert(const Options& options) {
    auto head = head_of(options);
    if (!head)
        return head.error();
    auto wiring_text = files::whole_file(options.wiring, most_toml_bytes);
    if (!wiring_text)
        return wiring_text.error();
    auto wiring = capture::parse_wiring(*wiring_text, options.wiring);
    if (!wiring)
        return wiring.error();
    capture::Request request{.open = files::open_file(options.capture),
                             .where = options.capture == "-" ? "standard input" : options.capture,
                             .wiring = *std::move(wiring),
                             .wiring_text = *std::move(wiring_text),
                             .head = *std::move(head),
                             .counted = {},
                             .key = std::nullopt,
                             .sink = {}};
    if (options.key)
        if (const Status taken = take_key(*options.key, request); !taken)
            return taken.error();
    auto log = files::StreamedFile::create(options.log, files::Place::fresh);
    if (!log)
        return log.error();
    request.sink = [&log](std::string_view line) { log->write(line); };
    auto captured = capture::capture_to_log(request);
    if (!captured)
        return captured;
    if (Status whole = log->finish(); !whole)
        return whole.error();
    if (options.key)
        if (Status noted = files::note_last_seal(*options.key, options.log); !noted)
            return noted.error();
    return captured;
}

Result<int> run(const Options& options) {
    Outputs outputs;
    outputs.reads(options.key).reads(options.wiring).reads(options.settings);
    if (options.capture != "-")
        outputs.reads(options.capture);
    outputs.writes("--log", options.log, files::FileKind::droplog);
    if (Status allowed = outputs.check(); !allowed)
        return allowed.error();
    const auto captured = convert(options);
    if (!captured)
        return captured.error();
    Outputs out;
    if (options.json)
        out.json(json_of(options, *captured));
    else
        out.text(text_of(options, *captured));
    return out.deliver(0);
}

} // namespace

void declare_capture(Command command) {
    const auto options = std::make_shared<Options>();
    command
        .option("CAPTURE", options->capture,
                "value change dump or table (CSV); - is standard input")
        .required("CAPTURE")
        .option("--wiring", options->wiring, "which signal is what (TOML)")
        .required("--wiring")
        .option("--settings", options->settings, "units, rows, spacing, crop: as for a run (TOML)")
        .required("--settings")
        .option("--log", options->log, "the log to write")
        .required("--log")
        .option("--key", options->key, "key file that signs the log")
        .option("--started", options->started, "when the capture began (RFC 3339)")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("capture")
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli
