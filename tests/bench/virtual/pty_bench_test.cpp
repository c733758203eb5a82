#include "a_scenario.hpp"
#include "served_bench.hpp"

#include "analysis/droplog/line.hpp"
#include "bench/link/framer.hpp"
#include "bench/link/transport.hpp"
#include "bench/virtual/pty_port.hpp"
#include "bench/virtual/run_log.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <functional>
#include <thread>

#include <unistd.h>

namespace dropledger::bench_virtual {
namespace {

using namespace std::chrono_literals;
namespace fs = std::filesystem;

// The least host that follows the protocol: takes only the next SEQ, asks again for what it missed.
class LeastHost {
public:
    explicit LeastHost(std::string path) : path_(std::move(path)) { connect(); }

    bool run(const Order& order) {
        run_until(order, [this] { return halted; });
        for (int more = 0; more < 5; ++more)
            step();
        return halted;
    }
    void run_until(const Order& order, const std::function<bool()>& enough) {
        send("hello");
        for (int patience = 0; patience < 4000 && !enough(); ++patience) {
            step();
            if (patience % 10 == 0)
                nudge(order);
        }
    }

    std::vector<std::string> lines; // in SEQ order of the boot
    std::uint64_t damaged = 0;
    std::uint64_t reconnects = 0;
    bool halted = false;

private:
    void connect() {
        auto opened = link::open_transport(path_, link::default_baud);
        if (opened)
            transport_ = std::move(*opened);
    }
    void send(const std::string& body) {
        if (transport_ && !transport_->write(droplog::encode(body) + "\n"))
            transport_.reset();
    }
    void step() {
        if (!transport_) {
            std::this_thread::sleep_for(5ms);
            connect();
            reconnects += transport_ ? 1U : 0U;
            return;
        }
        const auto read = transport_->read(5ms);
        if (read.outcome == link::ReadOutcome::gone)
            return transport_.reset();
        framer_.feed(read.bytes);
        for (auto frame = framer_.next(); frame.kind != link::FrameKind::need_more;
             frame = framer_.next())
            take(frame);
        if (lines.size() > acknowledged_)
            send("ack," + std::to_string(lines.size() - 1));
        acknowledged_ = lines.size();
    }
    void take(const link::Frame& frame) {
        const auto record = droplog::decode(frame.bytes);
        if (frame.kind == link::FrameKind::not_a_line || !record.from_controller()) {
            ++damaged;
            return;
        }
        if (record.seq != lines.size())
            return;
        lines.push_back(frame.bytes);
        armed_ = armed_ || record.name == droplog::LineName::armed;
        started_ = started_ || record.name == droplog::LineName::started;
        halted = halted || record.name == droplog::LineName::halted;
    }
    void nudge(const Order& order) {
        send("alive");
        send("resend," + std::to_string(lines.size()));
        if (!armed_)
            send(arm_body(order));
        else if (!started_)
            send("go");
    }

    std::string path_;
    std::unique_ptr<link::Transport> transport_;
    link::Framer framer_;
    std::size_t acknowledged_ = 0;
    bool armed_ = false;
    bool started_ = false;
};

Order twenty(const Scenario& scenario) {
    Order order = default_order(scenario);
    order.drops = 20;
    return order;
}

std::int64_t count(const std::vector<std::string>& lines, droplog::LineName name) {
    return std::count_if(lines.begin(), lines.end(), [name](const std::string& line) {
        return droplog::decode(line).name == name;
    });
}

void expect_log_and_truth_agree(const LeastHost& host, const Served& bench) {
    EXPECT_EQ(count(host.lines, droplog::LineName::drop), 20);
    std::int64_t seen = 0;
    std::int64_t drops = 0;
    for (const RunTruth& truth : bench.truths) {
        seen += truth.truth.seen[0] + truth.truth.seen[1];
        drops += truth.truth.kind == TruthKind::drop ? 1 : 0;
    }
    EXPECT_EQ(drops, 20);
    EXPECT_EQ(count(host.lines, droplog::LineName::pulse), seen);
}

TEST(PtyBench, ServesAWholeRunAsFastAsTheHostAcknowledges) {
    const Scenario scenario = single_scenario();
    BenchOptions options;
    options.pace = 0.0;
    Served bench(scenario, options);
    LeastHost host(bench.path);
    ASSERT_TRUE(host.run(twenty(scenario)));
    bench.finish();
    EXPECT_EQ(host.damaged, 0U);
    expect_log_and_truth_agree(host, bench);
}

TEST(PtyBench, LosesNothingOnANoisyLine) {
    const Scenario scenario = single_scenario();
    BenchOptions options;
    options.pace = 0.0;
    options.faults.noise = {.flip = 0.003, .drop = 0.003};
    Served bench(scenario, options);
    LeastHost host(bench.path);
    ASSERT_TRUE(host.run(twenty(scenario)));
    bench.finish();
    EXPECT_GT(host.damaged, 0U);
    expect_log_and_truth_agree(host, bench);
}

TEST(PtyBench, LosesNothingWhenTheCableIsPulled) {
    const fs::path link =
        fs::temp_directory_path() / ("dropledger-pull-" + std::to_string(::getpid()));
    const Scenario scenario = single_scenario();
    BenchOptions options;
    options.pace = 0.0;
    options.link = link.string();
    options.faults.pull_at_s = {4.0};
    options.faults.pull_ms = 60;
    options.faults.stall_at_s = {7.0};
    options.faults.stall_ms = 40;
    Served bench(scenario, options);
    LeastHost host(link.string());
    ASSERT_TRUE(host.run(twenty(scenario)));
    bench.finish();
    EXPECT_EQ(host.reconnects, 1U);
    expect_log_and_truth_agree(host, bench);
    EXPECT_FALSE(fs::exists(fs::symlink_status(link))); // removed at the end
}

// 2026-11-26: a host came back by a link to a pulled cable and found another bench at its end.
TEST(PortLink, LeadsNowhereWhileTheCableIsPulledAndIsLeftAloneWhereItIsAnothers) {
    const std::string link =
        fs::temp_directory_path() / ("dropledger-link-" + std::to_string(::getpid()));
    PortLink ours(link);
    ASSERT_TRUE(ours.point_to("/dev/pts/old"));
    ours.lead_nowhere();
    EXPECT_FALSE(fs::exists(fs::symlink_status(link)));
    ASSERT_TRUE(ours.point_to("/dev/pts/new"));
    {
        PortLink another(link);
        ASSERT_TRUE(another.point_to("/dev/pts/theirs"));
        ours.lead_nowhere();
        EXPECT_EQ(fs::read_symlink(link), "/dev/pts/theirs");
    }
    EXPECT_FALSE(fs::exists(fs::symlink_status(link)));
}

TEST(PtyBench, LeavesAfterOneRunOnceTheHostIsGone) {
    const Scenario scenario = single_scenario();
    BenchOptions options;
    options.pace = 0.0;
    options.once = true;
    Served bench(scenario, options);
    {
        LeastHost host(bench.path);
        ASSERT_TRUE(host.run(twenty(scenario)));
    }
    bench.wait();
    EXPECT_FALSE(bench.failed);
}

TEST(PtyBench, EndsARunCutShortWithTheTruthSoFar) {
    const Scenario scenario = single_scenario();
    BenchOptions options;
    options.pace = 100.0;
    Served bench(scenario, options);
    LeastHost host(bench.path);
    Order endless = default_order(scenario);
    endless.drops = 0;
    host.run_until(endless, [&host] { return count(host.lines, droplog::LineName::drop) >= 3; });
    bench.finish();
    EXPECT_GE(bench.truths.size(), 3U);
}

TEST(PortLink, NeverReplacesAFile) {
    const fs::path file =
        fs::temp_directory_path() / ("dropledger-file-" + std::to_string(::getpid()));
    std::ofstream(file) << "keep me";
    {
        PortLink link(file.string());
        const Status pointed = link.point_to("/dev/null");
        ASSERT_FALSE(pointed);
        EXPECT_EQ(pointed.error().kind, ErrorKind::usage);
    }
    EXPECT_TRUE(fs::is_regular_file(file));
    fs::remove(file);
}

TEST(PortLink, ReplacesAStaleLinkAndLeavesOneThatLeadsElsewhere) {
    const fs::path place =
        fs::temp_directory_path() / ("dropledger-link-" + std::to_string(::getpid()));
    fs::remove(place);
    fs::create_symlink("/nowhere", place);
    {
        PortLink link(place.string());
        ASSERT_TRUE(link.point_to("/dev/null"));
        EXPECT_EQ(fs::read_symlink(place), "/dev/null");
        fs::remove(place);
        fs::create_symlink("/dev/zero", place); // somebody else's by now
    }
    EXPECT_EQ(fs::read_symlink(place), "/dev/zero");
    fs::remove(place);
}

TEST(LineNoise, LeavesACleanLineAlone) {
    LineNoise noise({}, Random(1, 1));
    EXPECT_EQ(noise.pass("abc\n"), "abc\n");
}

TEST(LineNoise, DropsAndFlipsAtItsRates) {
    LineNoise noise({.flip = 0.05, .drop = 0.10}, Random(1, 1));
    const std::string sent(100000, 'A');
    const std::string arrived = noise.pass(sent);
    EXPECT_NEAR(static_cast<double>(arrived.size()), 90000.0, 4.0 * std::sqrt(100000.0 * 0.09));
    const auto flipped =
        std::count_if(arrived.begin(), arrived.end(), [](char c) { return c != 'A'; });
    EXPECT_NEAR(static_cast<double>(flipped), 4500.0, 4.0 * std::sqrt(4500.0));
    for (const char c : arrived)
        EXPECT_LE(__builtin_popcount(static_cast<unsigned>(c ^ 'A') & 0xffU), 1);
}

} // namespace
} // namespace dropledger::bench_virtual
