// A virtual bench of the station's own, for whoever has no bench at hand: invented, and said so.
//
// Assumes: it ends with the station. The settings that fit it are written beside the logs, once.
#pragma once

#include "analysis/base/result.hpp"

#include <atomic>
#include <mutex>
#include <string>
#include <thread>

namespace dropledger::station {

constexpr const char* virtual_machine = "virtual-bench.toml"; // its settings
constexpr int virtual_pace = 10;                              // times real time

class VirtualBench {
public:
    explicit VirtualBench(std::string folder) : folder_(std::move(folder)) {}
    VirtualBench(const VirtualBench&) = delete;
    VirtualBench& operator=(const VirtualBench&) = delete;
    ~VirtualBench();

    // Does nothing where it is there already; of several at once (a double click) one begins it.
    [[nodiscard]] Status begin();
    [[nodiscard]] std::string port() const { return folder_ + "/virtual-bench"; }
    [[nodiscard]] bool is_on() const { return on_; }

private:
    std::string folder_;
    std::mutex beginning_;
    std::atomic<bool> on_ = false;
    std::atomic<bool> stop_ = false;
    std::thread thread_;
};

} // namespace dropledger::station
