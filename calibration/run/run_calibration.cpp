#include "calibration/run/run_calibration.hpp"

#include "analysis/ledger/setup.hpp"
#include "calibration/record/applied.hpp"
#include "calibration/record/choice.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace dropledger::calibration {

namespace {

std::vector<GateFall> falls_of(const droplog::Header& head, const ledger::RunSetup& setup,
                               const audit::Calibrated& calibrated) {
    std::vector<GateFall> falls;
    for (const auto& [where, gate] : calibrated.gates) {
        const auto& [channel, number] = where;
        if (!gate.flight_u_us || head.find(channel, fmt::format("gate{}_fall_us", number)))
            continue;
        for (const ledger::Gate& one : setup.channels.at(channel).gates)
            if (one.number == number)
                falls.push_back({channel, number, one.fall_us});
    }
    return falls;
}

std::string text_or_empty(const std::string* text) {
    return text == nullptr ? std::string{} : *text;
}

std::vector<WantedLead> leads_of(const droplog::Header& head, const RunChoice& choice) {
    std::vector<WantedLead> leads;
    for (const auto& [channel, settings] : head.channels) {
        GateOfRun wanted;
        wanted.unit = text_or_empty(head.find(channel, "unit"));
        wanted.bench = text_or_empty(head.find("bench"));
        wanted.crop = text_or_empty(head.find("crop"));
        wanted.day = choice.day;
        const Record* const record = chosen_lead(choice.records, wanted);
        if (record == nullptr || !record->lead->lead_to_set_us)
            continue;
        const auto in_force = head.number(channel, "lead_us");
        if (in_force != record->lead->lead_to_set_us)
            leads.push_back({record->id, channel, *record->lead->lead_to_set_us, in_force});
    }
    return leads;
}

} // namespace

Result<RunCalibration> calibration_of_run(const droplog::Header& head, const RunChoice& choice) {
    auto setup = ledger::run_setup(head, {});
    if (!setup)
        return setup.error();
    const auto calibrate =
        choice.named ? applying(choice.records, {.anyway = choice.anyway, .today = choice.day})
                     : choosing_from(choice.records);
    const auto calibrated = calibrate(head, *setup);
    if (!calibrated)
        return calibrated.error();
    return RunCalibration{
        choice.named ? fmt::format("{}", fmt::join(*choice.named, ", ")) : calibrated->id,
        falls_of(head, *setup, *calibrated), calibrated->notes, leads_of(head, choice)};
}

} // namespace dropledger::calibration
