#include "bench/evidence/verify/check_efficiency.hpp"

#include "analysis/droplog/soundness.hpp"
#include "bench/evidence/logs/log_evidence.hpp"
#include "calibration/efficiency/gate_matching.hpp"
#include "calibration/record/applied.hpp"

#include <fmt/format.h>

#include <cmath>

namespace dropledger::evidence {

using calibration::InputFile;
using calibration::Record;
using calibration::TwoGateCount;
using statistics::Estimate;

namespace {

std::string plain(const InputFile& input) {
    return input.file.substr(input.file.find_last_of('/') + 1);
}

// Figures are kept with 17 digits; another machine may round the last one otherwise.
bool near(const Estimate& a, const Estimate& b) {
    const auto close = [](double x, double y) { return std::abs(x - y) <= 1e-9; };
    return a.interval && b.interval && close(a.value, b.value) &&
           close(a.interval->low, b.interval->low) && close(a.interval->high, b.interval->high);
}

std::string words(const Estimate& estimate) {
    return estimate.interval ? fmt::format("{:.6g} ({:.6g} to {:.6g})", estimate.value,
                                           estimate.interval->low, estimate.interval->high)
                             : fmt::format("{:.6g}", estimate.value);
}

class EfficiencyCheck {
public:
    EfficiencyCheck(const Record& record, const Folder& folder)
        : record_(record), folder_(folder) {}

    [[nodiscard]] std::vector<Failure> check() {
        const auto& source = record_.efficiency_source;
        if (!record_.efficiency || !source || !source->figures)
            return {};
        check_figures(*source->figures);
        if (const auto* const count = std::get_if<TwoGateCount>(&*source->figures))
            check_logs(*count);
        return std::move(failures_);
    }

private:
    void fail(std::string where, std::string what) {
        failures_.push_back({"efficiency_differs", std::move(where),
                             fmt::format("calibration {}: {}", record_.id, what)});
    }

    void check_figures(const calibration::Figures& figures) {
        const auto again = calibration::efficiency_of(figures, record_.holds_for.gate,
                                                      record_.efficiency->confidence);
        if (!again)
            fail(record_.id, fmt::format("its figures can't be: {}", again.error().what));
        else if (!near(*again, *record_.efficiency))
            fail(record_.id,
                 fmt::format("worked out again from {} its efficiency is {}, it says {}",
                             calibration::words_of(figures), words(*again),
                             words(*record_.efficiency)));
    }

    // All of them, where all are there.
    void check_logs(const TwoGateCount& stated) {
        statistics::TwoObservers total;
        bool any = false;
        for (const InputFile& input : record_.inputs) {
            if (!input.channel)
                continue;
            const auto found = counted(input);
            if (!found)
                return;
            any = true;
            total.both += found->both;
            total.first += found->first;
            total.second += found->second;
        }
        if (any && (total.both != stated.seen.both || total.first != stated.seen.first ||
                    total.second != stated.seen.second))
            fail(record_.id, fmt::format("its logs, counted again, hold {}; it says {}",
                                         calibration::words_of(TwoGateCount{total, 1.0}),
                                         calibration::words_of(TwoGateCount{stated.seen, 1.0})));
    }

    [[nodiscard]] std::optional<statistics::TwoObservers> counted(const InputFile& input) {
        const std::string name = plain(input);
        if (!is_plain_name(name) || !folder_.holds(name))
            return std::nullopt;
        if (!is_of_the_bench(name))
            return std::nullopt;
        const auto pulses =
            calibration::pulses_of(folder_.open(name), name, input.channel, classifiers());
        const auto matching =
            pulses ? calibration::match(*pulses) : Result<calibration::Matching>(pulses.error());
        if (!matching) {
            fail(name, matching.error().message());
            return std::nullopt;
        }
        const auto gate = static_cast<std::size_t>(record_.holds_for.gate);
        if (const std::string& doubt = matching->doubts.at(gate); !doubt.empty())
            fail(name, doubt);
        return matching->seen;
    }

    [[nodiscard]] bool is_of_the_bench(const std::string& name) {
        const auto found = read_evidence(folder_.open(name), name);
        if (!found || !found->reading) {
            fail(name, "it is no log");
            return false;
        }
        const droplog::Integrity& integrity = found->reading->integrity;
        if (!integrity.complete() || !droplog::is_sound(integrity))
            fail(name, "it is not whole, or its seals do not hold");
        const std::string* const bench = found->reading->header.find("bench");
        if (bench != nullptr && !record_.holds_for.bench.empty() &&
            *bench != record_.holds_for.bench)
            fail(name, fmt::format("it is of bench {}, the record is for {}", *bench,
                                   record_.holds_for.bench));
        return true;
    }

    // Of the records of pulse classes that lie with it.
    [[nodiscard]] calibration::ClassifiersFor classifiers() const {
        std::vector<Record> records;
        for (const InputFile& input : record_.inputs)
            if (const std::string name = plain(input);
                name.ends_with(".toml") && is_plain_name(name) && folder_.holds(name))
                if (const auto text = read_text(folder_.open(name)))
                    if (auto record = calibration::parse_record(text->text, name))
                        records.push_back(*std::move(record));
        if (records.empty())
            return {};
        return [records = std::move(records)](const droplog::Header& header, int channel) {
            return calibration::classifiers_for(records, header, channel,
                                                {.anyway = true, .today = {}});
        };
    }

    const Record& record_;
    const Folder& folder_;
    std::vector<Failure> failures_;
};

} // namespace

std::vector<Failure> check_efficiency(const Record& record, const Folder& folder) {
    return EfficiencyCheck(record, folder).check();
}

} // namespace dropledger::evidence
