#include "calibration/classifier/gate_pulses.hpp"

#include "analysis/droplog/reader.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace dropledger::calibration {

namespace {

class ShapeCollector final : public droplog::Consumer {
public:
    explicit ShapeCollector(int gate) : gate_(gate) {}
    void begin(const droplog::Header& header) override { header_ = header; }
    void reboot() override { last_us_.reset(); }
    void take(const droplog::Event& event) override {
        if (last_us_ && event.time_us > *last_us_)
            duration_us_ += event.time_us - *last_us_;
        last_us_ = last_us_ ? std::max(*last_us_, event.time_us) : event.time_us;
        if (event.record.name == droplog::LineName::pulse && event.record.gate == gate_)
            shapes_[event.record.channel].push_back(
                {event.record.width_us, event.record.depth_milli});
    }
    [[nodiscard]] const droplog::Header& header() const { return header_; }
    [[nodiscard]] std::map<int, std::vector<ledger::PulseShape>>& shapes() { return shapes_; }
    [[nodiscard]] double seconds() const { return static_cast<double>(duration_us_) / 1e6; }

private:
    int gate_;
    droplog::Header header_;
    std::optional<std::int64_t> last_us_;
    std::int64_t duration_us_ = 0;
    std::map<int, std::vector<ledger::PulseShape>> shapes_;
};

} // namespace

Result<GatePulses> gate_pulses(const OpenBytes& open, const std::string& file, int gate,
                               std::optional<int> channel) {
    ShapeCollector collector(gate);
    if (const auto reading = open().and_then(
            [&](const auto& source) { return droplog::read_log(*source, file, collector); });
        !reading)
        return reading.error();
    auto& shapes = collector.shapes();
    if (channel)
        std::erase_if(shapes, [&](const auto& one) { return one.first != *channel; });
    if (shapes.empty())
        return input_error(file, fmt::format("no pulses of gate {}", gate),
                           "name another `gate` or `channel`");
    if (shapes.size() > 1)
        return usage_error(file,
                           fmt::format("{} channels have pulses of gate {}", shapes.size(), gate),
                           "say which with `channel`");
    GatePulses out;
    out.channel = shapes.begin()->first;
    out.shapes = std::move(shapes.begin()->second);
    out.seconds = collector.seconds();
    out.dead_us = collector.header().number(out.channel, fmt::format("gate{}_dead_us", gate));
    if (const std::string* const unit = collector.header().find(out.channel, "unit"))
        out.unit = *unit;
    return out;
}

} // namespace dropledger::calibration
