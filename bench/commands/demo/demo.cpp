#include "bench/commands/demo/demo.hpp"

#include "bench/commands/shell/child.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/simulate/scenarios.hpp"
#include "bench/commands/simulate/settings_file.hpp"
#include "bench/io/write_aside.hpp"

#include <fmt/format.h>

#include <cstdio>
#include <filesystem>
#include <memory>

namespace dropledger::cli {

namespace {

namespace fs = std::filesystem;

struct Options {
    std::string scenario = "healthy";
    std::string out = "demo";
    std::int64_t drops = 500;
    double pace = 20.0;
};

struct Paths {
    explicit Paths(const fs::path& folder)
        : scenario(folder / "scenario.toml"), settings(folder / "settings.toml"),
          port(folder / "bench"), log(folder / "demo.droplog"), truth(folder / "truth.csv"),
          page(folder / "demo.html"), json(folder / "demo.json") {}
    std::string scenario;
    std::string settings;
    std::string port;
    std::string log;
    std::string truth;
    std::string page;
    std::string json;
};

Status prepare_folder(const Options& options, const Paths& paths) {
    std::error_code problem;
    fs::create_directories(options.out, problem);
    if (problem)
        return device_error(options.out, problem.message(),
                            "name a folder that can be written with --out");
    for (const std::string& old : {paths.log, paths.truth, paths.page, paths.json, paths.port})
        fs::remove(old, problem);
    const auto text = known_scenario(options.scenario);
    if (!text)
        return text.error();
    const auto scenario = bench_virtual::parse_scenario(*text, options.scenario);
    if (!scenario)
        return scenario.error();
    if (Status status = files::write_file_aside(paths.scenario, *text); !status)
        return status;
    return files::write_file_aside(paths.settings, settings_file(*scenario));
}

Status step(int number, std::string_view what) {
    return write_standard_output(TextPage{}.add("[{}/3] {}\n", number, what).text());
}

Result<int> record(const Options& options, const Paths& paths) {
    const Status first = step(
        1,
        fmt::format("A virtual bench ({}, invented) on a pseudo-terminal, {} times as fast as real",
                    options.scenario, options.pace));
    if (!first)
        return first.error();
    auto bench =
        Child::start({"simulate", "--scenario", paths.scenario, "--link", paths.port, "--pace",
                      fmt::to_string(options.pace), "--truth", paths.truth, "--once"},
                     true);
    if (!bench)
        return bench.error();
    if (bench->line().empty())
        return device_error("virtual bench", "it did not start", "see its message above");
    if (const Status second =
            step(2, fmt::format("The driver records {} commanded drops a channel", options.drops));
        !second)
        return second.error();
    auto driver =
        Child::start({"run", "--port", paths.port, "--settings", paths.settings, "--drops",
                      fmt::to_string(options.drops), "--log", paths.log, "--yes"},
                     true);
    if (!driver)
        return driver.error();
    const int recorded = driver->wait();
    return recorded != 0 ? recorded : bench->wait();
}

Result<int> audit(const Paths& paths) {
    if (const Status third = step(
            3, fmt::format("The audit of {}; what really fell is in {}", paths.log, paths.truth));
        !third)
        return third.error();
    auto machine = Child::start({"audit", paths.log, "--json"}, true);
    if (!machine)
        return machine.error();
    std::string json;
    for (std::string line = machine->line(); !line.empty(); line = machine->line())
        json += line + "\n";
    static_cast<void>(machine->wait());
    if (Status status = files::write_file_aside(paths.json, json); !status)
        return status.error();
    auto person = Child::start({"audit", paths.log, "--html", paths.page}, false);
    if (!person)
        return person.error();
    return person->wait();
}

Result<int> demo(const Options& options) {
    const Paths paths{options.out};
    if (const Status status = prepare_folder(options, paths); !status)
        return status.error();
    const auto recorded = record(options, paths);
    if (!recorded || *recorded != 0)
        return recorded;
    return audit(paths);
}

} // namespace

void declare_demo(Command command) {
    const auto options = std::make_shared<Options>();
    command.option("--out", options->out, "folder for log and report")
        .option("--scenario", options->scenario, "one of the scenarios that come with the program")
        .option("--drops", options->drops, "commanded drops per channel (line mode: seeds)")
        .option("--pace", options->pace, "times real time")
        .manual("demo")
        .runs([options] { return demo(*options); });
}

} // namespace dropledger::cli
