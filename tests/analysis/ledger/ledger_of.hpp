// A sink that keeps everything, and small runs fed straight into a run ledger.
#pragma once

#include "analysis/ledger/run_ledger.hpp"

#include <algorithm>
#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

namespace dropledger::ledger {

class Kept final : public EntrySink {
public:
    void entry(const Entry& entry) override { entries.push_back(entry); }
    void assigned(const Landing& landing, std::int64_t error_um) override {
        errors.push_back(error_um);
        seeds += landing.seeds;
    }
    void stray(const Landing& landing) override {
        strays.push_back(landing.position_um);
        seeds += landing.seeds;
    }
    void landed(const Landing& landing) override { landings.push_back(landing.position_um); }
    void segment_ended() override { ends.push_back(landings.size()); }

    [[nodiscard]] std::vector<std::uint32_t> counts() const {
        std::vector<std::uint32_t> all;
        for (const Entry& entry : entries)
            all.push_back(entry.seeds);
        return all;
    }

    std::vector<Entry> entries;
    std::vector<std::int64_t> errors;
    std::vector<std::int64_t> strays;
    std::vector<std::int64_t> landings;
    std::vector<std::size_t> ends;
    std::uint64_t seeds = 0;
};

struct Fed {
    std::unique_ptr<RunLedger> ledger;
    std::map<std::pair<int, int>, std::unique_ptr<Kept>> kept;

    [[nodiscard]] const Kept& of(int channel, int gate) const { return *kept.at({channel, gate}); }
};

// A run of events; feeding it in pieces or at once is the same.
class Script {
public:
    Script() {
        header_.run["mode"] = "single";
        header_.run["spacing_um"] = "180000";
        header_.run["speed_um_s"] = "250000";
        channel_set("gate1_place", "below");
        channel_set("gate1_fall_us", "280000");
    }

    void set(const std::string& key, const std::string& value) { header_.run[key] = value; }
    void channel_set(const std::string& key, const std::string& value) {
        header_.channels[0][key] = value;
    }
    void forget_gates() { header_.channels.clear(); }

    void travel(std::int64_t time_us, std::int64_t position_um) {
        add({.name = droplog::LineName::travel, .position_um = position_um}, time_us);
    }
    void drop(std::int64_t time_us, std::uint32_t index, std::int64_t position_um) {
        add({.name = droplog::LineName::drop,
             .channel = 0,
             .index = index,
             .count = 1,
             .position_um = position_um},
            time_us);
    }
    void pulse(std::int64_t time_us, std::uint16_t gate = 1) {
        add({.name = droplog::LineName::pulse,
             .channel = 0,
             .width_us = 600,
             .depth_milli = 500,
             .gate = gate},
            time_us);
    }
    void reboot() { boots_.push_back(events_.size()); }

    std::vector<droplog::Event>& events() { return events_; }

    [[nodiscard]] Fed feed(KnownRun known = {}, Spread spread = {}) const {
        Fed fed;
        const auto kept = std::make_shared<Store>();
        fed.ledger = std::make_unique<RunLedger>(
            [](const droplog::Header& header) { return run_setup(header, {}); },
            [kept](const RunSetup&, const ChannelSetup& channel, const Gate& gate) -> EntrySink& {
                auto& sink = (*kept)[{channel.channel, gate.number}];
                sink = std::make_unique<Kept>();
                return *sink;
            },
            std::move(known), spread);
        feed_to(*fed.ledger);
        fed.kept = std::move(*kept);
        return fed;
    }
    void feed_to(RunLedger& ledger) const {
        ledger.begin(header_);
        for (std::size_t i = 0; i < events_.size(); ++i) {
            if (std::find(boots_.begin(), boots_.end(), i) != boots_.end())
                ledger.reboot();
            ledger.take(events_[i]);
        }
        ledger.finish();
    }

private:
    using Store = std::map<std::pair<int, int>, std::unique_ptr<Kept>>;

    void add(const droplog::Record& record, std::int64_t time_us) {
        events_.push_back({record, time_us, events_.size() + 1, {}});
    }

    droplog::Header header_;
    std::vector<droplog::Event> events_;
    std::vector<std::size_t> boots_;
};

} // namespace dropledger::ledger
