#include "calibration/record/applied.hpp"

#include "analysis/base/dates.hpp"
#include "calibration/record/seed_size.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::calibration {

using audit::Calibrated;
using statistics::Interval;

namespace {

struct Fit {
    const Record* record = nullptr;
    std::vector<std::string> unlike; // why it is foreign
};

// The log's word against the record's; a side that says nothing does not differ.
void compare(std::vector<std::string>& unlike, const char* what, const std::string& record,
             const std::string& log) {
    if (!record.empty() && !log.empty() && record != log)
        unlike.push_back(fmt::format("{} '{}', the log's is '{}'", what, record, log));
}

std::vector<std::string> unlike_run(const Record& record, const droplog::Header& header) {
    std::vector<std::string> unlike;
    compare(unlike, "bench", record.holds_for.bench, header.text("bench"));
    compare(unlike, "crop", record.holds_for.crop, header.text("crop"));
    if (const auto& mm = record.holds_for.seed_mm)
        if (const LotSize lot = lot_size(header); size_fit(*mm, lot) == SizeFit::outside)
            unlike.push_back(fmt::format("seed of {:g} to {:g} mm, the log's is {}", mm->low,
                                         mm->high, lot.words));
    return unlike;
}

Error foreign(const Record& record, const std::vector<std::string>& unlike) {
    return usage_error(fmt::format("calibration {}", record.id),
                       fmt::format("it is for another: {}", fmt::join(unlike, "; ")),
                       "name the right one, or take it all the same with `calibration_anyway`");
}

bool is_for(const Record& record, const ledger::ChannelSetup& channel) {
    return record.holds_for.unit.empty() || record.holds_for.unit == channel.unit;
}

std::string day_of(const droplog::Header& header, const std::string& today) {
    const std::string started =
        header.started.substr(0, std::min<std::size_t>(10, header.started.size()));
    return is_date(started) ? started : today;
}

class Applying {
public:
    Applying(const Record& record, const ApplyOptions& options, const std::string& day)
        : record_(&record), anyway_(options.anyway), expired_(day > record.expires) {}

    // Fails where the calibration is foreign and that was not allowed.
    Status apply(const droplog::Header& header, ledger::RunSetup& setup, Calibrated& out) const {
        std::vector<std::string> unlike = unlike_run(*record_, header);
        std::vector<ledger::ChannelSetup*> channels;
        bool unit_known = false;
        for (auto& [number, channel] : setup.channels) {
            unit_known = unit_known || is_for(*record_, channel);
            if ((is_for(*record_, channel) || anyway_) &&
                channel.may_judge(record_->holds_for.gate))
                channels.push_back(&channel);
        }
        if (!unit_known)
            unlike.push_back(
                fmt::format("unit '{}', which the log does not have", record_->holds_for.unit));
        else if (channels.empty())
            unlike.push_back(fmt::format("gate {}, which judges no channel of that unit here",
                                         record_->holds_for.gate));
        if (!unlike.empty() && !anyway_)
            return foreign(*record_, unlike);
        note(unlike, out);
        note_seed_size(header, out);
        for (ledger::ChannelSetup* channel : channels)
            apply_to(*channel, out);
        return Done{};
    }

private:
    void note(const std::vector<std::string>& unlike, Calibrated& out) const {
        out.id += (out.id.empty() ? "" : ", ") + record_->id;
        out.notes.push_back(fmt::format("Calibration {} of {}, valid until {}.", record_->id,
                                        record_->date, record_->expires));
        if (!unlike.empty())
            out.notes.push_back(fmt::format(
                "Calibration {} is foreign and was used because it was asked for: it is for {}.",
                record_->id, fmt::join(unlike, "; ")));
        if (expired_)
            out.notes.push_back(fmt::format(
                "Calibration {} had expired when the run was made: its efficiency is shown, "
                "but the verdict does not rest on it, and its flight time and pulse classes are "
                "not "
                "used. Calibrate anew.",
                record_->id));
    }

    void note_seed_size(const droplog::Header& header, Calibrated& out) const {
        if (!record_->holds_for.seed_mm)
            return;
        const Interval mm = *record_->holds_for.seed_mm;
        const LotSize lot = lot_size(header);
        const SizeFit fit = size_fit(mm, lot);
        const std::string range = fmt::format("Calibration {} holds for seed of {:g} to {:g} mm",
                                              record_->id, mm.low, mm.high);
        if (fit == SizeFit::partly)
            out.notes.push_back(
                fmt::format("{}; the log's is {}: in part outside.", range, lot.words));
        if (fit == SizeFit::unknown)
            out.notes.push_back(
                fmt::format("{}; whether the log's seed is of that size can't be checked: {}.",
                            range, lot.words));
    }

    void apply_to(ledger::ChannelSetup& channel, Calibrated& out) const {
        audit::GateCalibration& gate = out.gates[{channel.channel, record_->holds_for.gate}];
        gate.id += (gate.id.empty() ? "" : ", ") + record_->id;
        if (record_->efficiency) {
            gate.efficiency = record_->efficiency;
            if (const auto& source = record_->efficiency_source) {
                gate.efficiency_found_by = row_in(found_by_names, source->found_by).key;
                gate.efficiency_assumption = source->assumption;
            }
            gate.judges = !expired_;
        }
        if (expired_)
            return;
        for (ledger::Gate& one : channel.gates)
            if (one.number == record_->holds_for.gate && record_->classifier)
                one.seeds_in_pulse = [classifier = *record_->classifier](ledger::PulseShape shape) {
                    return classifier.classify(shape).seeds;
                };
        for (ledger::Gate& one : channel.gates)
            if (one.number == record_->holds_for.gate && record_->flight_us &&
                one.place == ledger::GatePlace::below) {
                one.fall_us = std::llround(record_->flight_us->value);
                one.fall_assumed = false;
                gate.flight_u_us = record_->flight_us->u;
            }
    }

    const Record* record_;
    bool anyway_;
    bool expired_;
};

} // namespace

audit::Calibrate applying(std::vector<Record> records, ApplyOptions options) {
    return [records = std::move(records), options = std::move(options)](
               const droplog::Header& header, ledger::RunSetup& setup) -> Result<Calibrated> {
        Calibrated out;
        const std::string day = day_of(header, options.today);
        for (const Record& record : records)
            if (const Status status = Applying(record, options, day).apply(header, setup, out);
                !status)
                return status.error();
        return out;
    };
}

Result<std::map<int, ledger::SeedsInPulse>> classifiers_for(const std::vector<Record>& records,
                                                            const droplog::Header& header,
                                                            int channel,
                                                            const ApplyOptions& options) {
    std::map<int, ledger::SeedsInPulse> out;
    for (const Record& record : records) {
        std::vector<std::string> unlike = unlike_run(record, header);
        compare(unlike, "unit", record.holds_for.unit, header.text(channel, "unit"));
        if (!unlike.empty() && !options.anyway)
            return foreign(record, unlike);
        if (record.classifier)
            out[record.holds_for.gate] = [classifier =
                                              *record.classifier](ledger::PulseShape shape) {
                return classifier.classify(shape).seeds;
            };
    }
    return out;
}

} // namespace dropledger::calibration
