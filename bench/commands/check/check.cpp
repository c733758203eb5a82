#include "bench/commands/check/check.hpp"

#include "analysis/droplog/soundness.hpp"
#include "bench/commands/inputs/checked_log.hpp"
#include "bench/commands/inputs/integrity_page.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/standard.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <memory>

namespace dropledger::cli {

namespace {

constexpr int exit_sound = 0;
constexpr int exit_unsound = 2;

struct Options {
    std::vector<std::string> logs;
    bool json = false;
};

// One log's part of the output.
struct Checked {
    std::string text;
    nlohmann::ordered_json json;
    int status = exit_sound;
};

Checked refused(const std::string& log, const Error& error) {
    tell("dropledger: {}\n", error.message());
    return {.text = {},
            .json = {{"file", log}, {"error", error.message()}},
            .status = exit_status(error.kind)};
}

Checked checked(const std::string& log, bool as_json) {
    const auto reading = read_checked(log);
    if (!reading)
        return refused(log, reading.error());
    Checked done{.text = {},
                 .json = {},
                 .status = droplog::is_sound(reading->integrity) ? exit_sound : exit_unsound};
    if (as_json)
        done.json = integrity_page_json(log, *reading);
    else
        done.text = integrity_page(log, *reading);
    return done;
}

Result<int> run(const Options& options) {
    int status = exit_sound;
    Outputs outputs;
    nlohmann::ordered_json logs = nlohmann::ordered_json::array();
    for (const std::string& log : options.logs) {
        Checked one = checked(log, options.json);
        status = std::max(status, one.status);
        outputs.text(one.text);
        logs.push_back(std::move(one.json));
    }
    const bool is_one = options.logs.size() == 1;
    if (options.json && is_one && status <= exit_unsound)
        outputs.json(logs.front());
    if (options.json && !is_one)
        outputs.json({{"schema", "dropledger/check-several/1"}, {"logs", std::move(logs)}});
    return outputs.deliver(status);
}

} // namespace

void declare_check(Command command) {
    const auto options = std::make_shared<Options>();
    command.option("LOG", options->logs, "droplogs; - is standard input")
        .required("LOG")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("check")
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli
