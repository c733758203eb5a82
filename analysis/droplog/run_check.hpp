// Is it a whole run? Greeting, start, every drop of it, and the order carried out.
//
// A run is: `hello` of the boot, the order (`arm` in @sent), `started`, the drops of every channel
// with INDEX 0, 1, 2, …, and `halted`. INDEX begins at 0 with every start, also after a boot. A
// later start is part of the run only where the one before has halted and a @confirmed of its own
// stands before it; together they make what the first one's `arm` orders, and no more.
// Assumes: it is told of every used line, in file order.
// Memory: a few hundred bytes for each channel, however long the run.
// Undefined when: a line was not sown by drops (line mode): then no INDEX and no count is checked.
#pragma once

#include "analysis/droplog/flaw.hpp"
#include "analysis/droplog/index_check.hpp"
#include "analysis/droplog/line.hpp"

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <string_view>
#include <vector>

namespace dropledger::droplog {

class RunCheck {
public:
    // `in_mid_run`: it is not the log's first boot.
    void boot(std::uint64_t line, bool in_mid_run);
    void take(const Record& record, std::uint64_t line) {
        if (record.name == LineName::drop)
            take_drop(record, line);
        else if (record.name != LineName::travel &&
                 (record.name != LineName::pulse || starts_ == 0))
            take_other(record, line);
    }
    void sent(std::string_view line);
    void confirmed() { confirmed_ = true; }
    // After the last line; `closed_by_count`: the host says that the order was carried out.
    void finish(bool closed_by_count);

    [[nodiscard]] const std::vector<FoundFlaw>& flaws() const { return flaws_; }
    [[nodiscard]] std::uint64_t starts() const { return starts_; }

private:
    struct Order {
        bool is_line = false;
        std::uint64_t drops = 0; // 0: until it is halted
        std::uint64_t channel_mask = 0;
    };
    using Channels = std::array<std::unique_ptr<IndexCheck>, greatest_channel + 1>;

    void note(Flaw flaw, std::uint64_t line, std::uint64_t count = 1);
    void take_other(const Record& record, std::uint64_t line);
    void take_drop(const Record& record, std::uint64_t line);
    void start(std::uint64_t line);
    void end_start();
    void check_order();
    [[nodiscard]] static std::uint64_t drops_beside(const Order& order,
                                                    const std::vector<std::uint64_t>& drops);

    std::vector<FoundFlaw> flaws_; // each kind once, in the order in which they showed
    std::uint64_t starts_ = 0;
    bool greeted_ = false; // in this boot
    bool started_ = false; // in this boot
    bool running_ = false;
    bool halted_ = false; // since the last start
    bool confirmed_ = false;
    std::optional<Order> sent_;  // the latest
    std::optional<Order> order_; // of the latest start
    std::optional<Order> whole_; // of the first start: later ones go on with it
    Channels channels_;
    std::vector<std::uint64_t> drops_;     // of the latest start that has ended, by channel
    std::vector<std::uint64_t> all_drops_; // of all starts
};

} // namespace dropledger::droplog
