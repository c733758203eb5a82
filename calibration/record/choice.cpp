#include "calibration/record/choice.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/text.hpp"
#include "calibration/record/applied.hpp"
#include "calibration/record/seed_size.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <tuple>

namespace dropledger::calibration {

namespace {

bool holds(const std::string& record, const std::string& run) {
    return record.empty() || record == run;
}

bool is_named(const Record& record, const GateOfRun& wanted) {
    const auto ids = ids_in(wanted.named);
    return ids.empty() || std::find(ids.begin(), ids.end(), record.id) != ids.end();
}

bool comes_into_question(const Record& record, const GateOfRun& wanted) {
    const HoldsFor& holds_for = record.holds_for;
    const bool wrong_size =
        holds_for.seed_mm && size_fit(*holds_for.seed_mm, {wanted.seed_mm, {}}) == SizeFit::outside;
    // the bench's own gate is the same whichever unit hangs on it
    const bool any_unit = holds_for.gate > 0 && !holds_for.bench.empty();
    return is_named(record, wanted) && !wrong_size && holds_for.gate == wanted.gate &&
           (any_unit || holds(holds_for.unit, wanted.unit)) &&
           holds(holds_for.bench, wanted.bench) && holds(holds_for.crop, wanted.crop) &&
           !wanted.day.empty() && record.date <= wanted.day;
}

// The greater, the rather.
auto standing(const Record& record, const GateOfRun& wanted) {
    return std::tuple{wanted.day <= record.expires,
                      !wanted.unit.empty() && record.holds_for.unit == wanted.unit,
                      !record.holds_for.bench.empty(),
                      !record.holds_for.crop.empty(),
                      record.date,
                      record.id};
}

template <class Has>
const Record* best(const std::vector<Record>& records, const GateOfRun& wanted, Has has) {
    const Record* found = nullptr;
    for (const Record& record : records)
        if (has(record) && comes_into_question(record, wanted) &&
            (found == nullptr || standing(*found, wanted) < standing(record, wanted)))
            found = &record;
    return found;
}

// The copy of `source` in `all` that holds no value yet, or a new one.
Record& of_id(std::vector<Record>& all, const Record& source, const std::string& unit) {
    for (Record& one : all)
        if (one.id == source.id)
            return one;
    Record copy;
    copy.id = source.id;
    copy.date = source.date;
    copy.expires = source.expires;
    copy.holds_for = source.holds_for;
    copy.holds_for.unit = unit;
    copy.inputs = source.inputs;
    all.push_back(std::move(copy));
    return all.back();
}

GateOfRun gate_of(const droplog::Header& header, const ledger::ChannelSetup& channel) {
    GateOfRun gate;
    gate.bench = header.text("bench");
    gate.crop = header.text("crop");
    gate.unit = channel.unit;
    gate.gate = channel.gates.empty() ? 1 : channel.gates.front().number;
    const std::string day =
        header.started.substr(0, std::min<std::size_t>(10, header.started.size()));
    gate.day = is_date(day) ? day : "";
    gate.seed_mm = lot_size(header).mm;
    gate.named = header.text("calibration");
    return gate;
}

// Units of the run whose judging gate no record speaks of, by gate and by what the log names.
using Uncalibrated = std::map<std::pair<int, std::string>, std::vector<std::string>>;

std::string name_of(const ledger::ChannelSetup& channel) {
    return channel.unit.empty() ? fmt::format("channel {}", channel.channel)
                                : fmt::format("unit {}", channel.unit);
}

std::vector<std::string> nothing_for(const Uncalibrated& units) {
    std::vector<std::string> sentences;
    for (const auto& [key, names] : units) {
        const auto& [gate, named] = key;
        const std::string in_log =
            named.empty() ? std::string{} : fmt::format(" (the log names {})", named);
        sentences.push_back(fmt::format(
            "The book has no calibration for gate {} of {}{}: {} taken to see every seed.", gate,
            fmt::join(names, ", "), in_log,
            names.size() == 1 ? "its sensor is" : "their sensors are"));
    }
    return sentences;
}

void add_once(std::vector<std::string>& list, std::vector<std::string> more) {
    for (std::string& one : more)
        if (std::find(list.begin(), list.end(), one) == list.end())
            list.push_back(std::move(one));
}

void add(audit::Calibrated& all, audit::Calibrated one) {
    std::vector<std::string> ids = ids_in(all.id);
    add_once(ids, ids_in(one.id));
    all.id = fmt::format("{}", fmt::join(ids, ", "));
    all.gates.merge(one.gates);
    add_once(all.notes, std::move(one.notes));
}

} // namespace

std::vector<std::string> ids_in(const std::string& named) {
    std::vector<std::string> ids;
    for (const std::string_view part : split(named, ',')) {
        const std::size_t first = part.find_first_not_of(' ');
        if (first != std::string_view::npos)
            ids.emplace_back(part.substr(first, part.find_last_not_of(' ') - first + 1));
    }
    return ids;
}

std::vector<Record> chosen(const std::vector<Record>& records, const GateOfRun& wanted) {
    std::vector<Record> all;
    const auto take = [&](auto member) {
        const Record* const found =
            best(records, wanted, [&](const Record& one) { return (one.*member).has_value(); });
        if (found != nullptr)
            of_id(all, *found, wanted.unit).*member = found->*member;
        return found;
    };
    if (const Record* const found = take(&Record::efficiency))
        of_id(all, *found, wanted.unit).efficiency_source = found->efficiency_source;
    take(&Record::flight_us);
    take(&Record::classifier);
    return all;
}

const Record* chosen_lead(const std::vector<Record>& records, const GateOfRun& wanted) {
    const Record* newest = nullptr;
    for (const int gate : {0, 1}) {
        GateOfRun at = wanted;
        at.gate = gate;
        const Record* const found = best(
            records, at, [&](const Record& one) { return one.lead && wanted.day <= one.expires; });
        if (found != nullptr && (newest == nullptr || newest->date < found->date))
            newest = found;
    }
    return newest;
}

audit::Calibrate choosing_from(std::vector<Record> records) {
    return [records = std::move(records)](const droplog::Header& header,
                                          ledger::RunSetup& setup) -> Result<audit::Calibrated> {
        audit::Calibrated out;
        Uncalibrated without;
        for (auto& [number, channel] : setup.channels) {
            const GateOfRun wanted = gate_of(header, channel);
            const std::vector<Record> speaking = chosen(records, wanted);
            if (speaking.empty()) {
                without[{wanted.gate, wanted.named}].push_back(name_of(channel));
                continue;
            }
            ledger::RunSetup alone;
            alone.mode = setup.mode;
            alone.channels.emplace(number, channel);
            auto one = applying(speaking, {.anyway = false, .today = wanted.day})(header, alone);
            if (!one)
                return one.error();
            channel = alone.channels.at(number);
            add(out, *std::move(one));
        }
        add_once(out.notes, nothing_for(without));
        return out;
    };
}

} // namespace dropledger::calibration
