// Section 7.4 of the format's text in the plainest way: is it a whole run?
#pragma once

#include "analysis/droplog/flaw.hpp"

#include <cstdint>
#include <map>
#include <set>
#include <string>
#include <vector>

namespace reference {

struct Line;

class Run {
public:
    void boot(bool first_of_log);
    void take(const Line& line); // a used controller line
    void sent(const std::string& encoded);
    void confirmed() { confirmed_ = true; }
    [[nodiscard]] std::vector<dropledger::droplog::FoundFlaw> finish(bool closed_by_count);
    [[nodiscard]] std::uint64_t starts() const { return starts_; }

private:
    using Flaw = dropledger::droplog::Flaw;

    // What stands between a start, or a boot, and the next.
    struct Part {
        std::map<std::uint64_t, std::set<std::uint64_t>> drops; // by channel
        std::map<std::uint64_t, std::uint64_t> repeated;
    };

    void flaw(Flaw kind, std::uint64_t count);
    void flaw_once(Flaw kind) { flaws_[kind] = 1; }
    void start();
    void take_drop(std::uint64_t channel, std::uint64_t index);
    void end_part();
    void check_order();
    void compare(const std::vector<std::string>& order,
                 std::map<std::uint64_t, std::uint64_t>& drops);

    std::uint64_t starts_ = 0;
    bool greeted_ = false;
    bool started_ = false;
    bool running_ = false;
    bool halted_ = false;
    bool confirmed_ = false;
    std::vector<std::string> sent_;
    std::vector<std::string> order_;
    Part part_;
    std::vector<std::string> whole_; // the first start's order
    std::map<std::uint64_t, std::uint64_t> last_drops_;
    std::map<std::uint64_t, std::uint64_t> all_drops_;
    std::map<Flaw, std::uint64_t> flaws_;
};

} // namespace reference
