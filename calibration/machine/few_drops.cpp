#include "calibration/machine/few_drops.hpp"

#include "analysis/audit/audit.hpp"
#include "analysis/droplog/reader.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

namespace dropledger::calibration {

namespace {

using droplog::LineName;

// The lines that count of a log of some tens of drops.
class Few final : public droplog::Consumer {
public:
    explicit Few(int channel) : channel_(channel) {}
    void begin(const droplog::Header& header) override { header_ = header; }
    void reboot() override {}
    void take(const droplog::Event& event) override {
        if (event.record.name == LineName::drop && event.record.channel == channel_)
            drops_us_.push_back(event.time_us);
        if (event.record.name == LineName::pulse)
            pulses_.push_back(event);
    }

    [[nodiscard]] FewDrops found() const {
        FewDrops out{.channel = channel_,
                     .unit = text("unit"),
                     .drops = static_cast<std::int64_t>(drops_us_.size()),
                     .gates = {},
                     .stated = {},
                     .offset_mm = std::nullopt};
        for (const int gate : {0, 1})
            if (const auto place = droplog::gate_place_of(text(fmt::format("gate{}_place", gate))))
                out.stated[gate] = *place;
        if (drops_us_.empty())
            return out;
        const auto [first_us, last_us] = std::minmax_element(drops_us_.begin(), drops_us_.end());
        for (const droplog::Event& pulse : pulses_) {
            GateSeen& seen = out.gates[{pulse.record.channel, pulse.record.gate}];
            ++seen.pulses;
            seen.before_first_drop += pulse.time_us < *first_us ? 1 : 0;
            seen.after_last_drop += pulse.time_us > *last_us ? 1 : 0;
        }
        return out;
    }

private:
    [[nodiscard]] std::string text(const std::string& key) const {
        const std::string* const value = header_.find(channel_, key);
        return value == nullptr ? std::string{} : *value;
    }

    int channel_;
    droplog::Header header_;
    std::vector<std::int64_t> drops_us_;
    std::vector<droplog::Event> pulses_; // their bodies are gone
};

// Of the gate that an audit would judge by.
Result<std::optional<statistics::Estimate>> offset_of(const OpenBytes& log, const std::string& name,
                                                      int channel) {
    audit::AuditOptions options;
    options.file = name;
    const auto report = audit::audit_log(log, options);
    if (!report)
        return report.error();
    for (const audit::ChannelReport& one : report->channels) {
        const measures::PlacementResult* const placement = one.placement();
        if (one.channel == channel && placement != nullptr && placement->offset_mm &&
            placement->offset_mm->interval)
            return placement->offset_mm;
    }
    return std::optional<statistics::Estimate>{};
}

} // namespace

std::int64_t FewDrops::pulses(int gate_channel, int gate) const {
    const auto found = gates.find({gate_channel, gate});
    return found == gates.end() ? 0 : found->second.pulses;
}

std::optional<droplog::GatePlace> place_of(const GateSeen& seen) {
    const bool before = seen.before_first_drop > 0;
    const bool after = seen.after_last_drop > 0;
    if (before == after)
        return std::nullopt;
    return before ? droplog::GatePlace::above : droplog::GatePlace::below;
}

Result<FewDrops> few_drops(const OpenBytes& log, const std::string& name, int channel) {
    const auto source = log();
    if (!source)
        return source.error();
    Few few(channel);
    if (const auto read = droplog::read_log(**source, name, few); !read)
        return read.error();
    FewDrops out = few.found();
    auto offset_mm = offset_of(log, name, channel);
    if (!offset_mm)
        return offset_mm.error();
    out.offset_mm = *offset_mm;
    return out;
}

} // namespace dropledger::calibration
