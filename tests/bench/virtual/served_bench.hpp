// A virtual bench served in a thread of its own, for tests that play the host.
#pragma once

#include "bench/virtual/pty_bench.hpp"

#include <atomic>
#include <future>
#include <string>
#include <thread>
#include <vector>

namespace dropledger::bench_virtual {

class Served {
public:
    Served(const Scenario& scenario, BenchOptions options)
        : scenario_(scenario), options_(std::move(options)) {
        thread_ = std::thread([this] { serve_here(); });
        path = ready_.get_future().get();
    }
    ~Served() { finish(); }
    Served(const Served&) = delete;
    Served& operator=(const Served&) = delete;

    void finish() {
        stop_ = true;
        wait();
    }
    void wait() { // until it leaves by itself
        if (thread_.joinable())
            thread_.join();
    }

    std::string path;
    std::vector<RunTruth> truths; // after finish() or wait()
    bool failed = false;

private:
    void serve_here() {
        BenchHooks hooks;
        hooks.ready = [this](const std::string& port) { ready_.set_value(port); };
        hooks.say = [](const std::string&) {};
        hooks.stop_asked = [this] { return stop_.load(); };
        hooks.truth = [this](const RunTruth& truth) { truths.push_back(truth); };
        hooks.pulse = [](const PulseTruth&) {};
        failed = !serve(scenario_, options_, hooks);
    }

    Scenario scenario_;
    BenchOptions options_;
    std::atomic<bool> stop_ = false;
    std::promise<std::string> ready_;
    std::thread thread_;
};

} // namespace dropledger::bench_virtual
