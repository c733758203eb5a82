#include "bench/station/mechanic/virtual_bench.hpp"

#include "bench/commands/simulate/settings_file.hpp"
#include "bench/io/write_aside.hpp"
#include "bench/virtual/pty_bench.hpp"
#include "fixture_scenarios.hpp"

#include <condition_variable>
#include <filesystem>
#include <memory>
#include <mutex>
#include <optional>

namespace dropledger::station {

namespace {

constexpr std::string_view scenario_name = "six_units";

Result<bench_virtual::Scenario> scenario() {
    for (const scenarios::Text& text : scenarios::texts())
        if (text.name == scenario_name)
            return bench_virtual::parse_scenario(text.content, std::string(scenario_name));
    throw BrokenInvariant("the station's scenario is not there");
}

// What the bench's thread says once: it can be opened, or why not.
struct Answer {
    void give(Status status) {
        const std::lock_guard lock(mutex);
        if (!given)
            given = std::move(status);
        changed.notify_all();
    }
    [[nodiscard]] Status wait() {
        std::unique_lock lock(mutex);
        changed.wait(lock, [this] { return given.has_value(); });
        return *given;
    }
    std::mutex mutex;
    std::condition_variable changed;
    std::optional<Status> given;
};

} // namespace

Status VirtualBench::begin() {
    const std::lock_guard lock(beginning_);
    if (on_)
        return Done{};
    auto plan = scenario();
    if (!plan)
        return plan.error();
    const std::string settings = folder_ + "/" + virtual_machine;
    if (!std::filesystem::exists(settings))
        if (Status written = files::write_file_aside(settings, cli::settings_file(*plan)); !written)
            return written;
    if (thread_.joinable())
        thread_.join();
    const auto answer = std::make_shared<Answer>();
    thread_ = std::thread([this, answer, plan = *std::move(plan)] {
        bench_virtual::BenchOptions options;
        options.link = port();
        options.pace = virtual_pace;
        const bench_virtual::BenchHooks hooks{.ready =
                                                  [this, answer](const std::string&) {
                                                      on_ = true;
                                                      answer->give(Done{});
                                                  },
                                              .say = [](const std::string&) {},
                                              .stop_asked = [this] { return stop_.load(); },
                                              .truth = [](const bench_virtual::RunTruth&) {},
                                              .pulse = [](const bench_virtual::PulseTruth&) {}};
        answer->give(bench_virtual::serve(plan, options, hooks));
        on_ = false;
    });
    return answer->wait();
}

VirtualBench::~VirtualBench() {
    stop_ = true;
    if (thread_.joinable())
        thread_.join();
}

} // namespace dropledger::station
