#include "analysis/report/json/change_json.hpp"

#include "analysis/base/readers/or_null.hpp"
#include "analysis/report/json/estimate_json.hpp"
#include "analysis/report/words/change_words.hpp"

#include <nlohmann/json.hpp>

namespace dropledger::report {

namespace {

using Json = nlohmann::ordered_json;

Json run_json(const audit::ComparedRun& run) {
    return {{"file", run.file}, {"run", run.run_id}, {"started", run.started}};
}

Json quantity_json(const audit::ComparedQuantity& one) {
    Json difference = nullptr;
    if (one.difference)
        difference = {{"value", one.after->value - one.before->value},
                      {"low", one.difference->low},
                      {"high", one.difference->high}};
    return {{"name", key_of(one.what)},
            {"before", estimate_json(one.before)},
            {"after", estimate_json(one.after)},
            {"difference", std::move(difference)},
            {"differs", one.difference ? Json(one.differs()) : Json(nullptr)},
            {"why_not", or_null(one.why_not)}};
}

Json unit_json(const audit::ComparedUnit& unit) {
    Json quantities = Json::array();
    for (const audit::ComparedQuantity& one : unit.quantities)
        quantities.push_back(quantity_json(one));
    Json settings = Json::array();
    for (const audit::ChangedSetting& one : unit.settings)
        settings.push_back(
            {{"key", one.key}, {"before", or_null(one.before)}, {"after", or_null(one.after)}});
    return {{"unit", unit.unit},
            {"row", or_null(unit.row)},
            {"before", verdict::name_of(unit.before)},
            {"after", verdict::name_of(unit.after)},
            {"lead_before_us", or_null(unit.lead_before_us)},
            {"lead_after_us", or_null(unit.lead_after_us)},
            {"settings", std::move(settings)},
            {"quantities", std::move(quantities)},
            {"why_not", or_null(unit.why_not)}};
}

} // namespace

Json to_json(const audit::BeforeAfter& compared) {
    Json units = Json::array();
    for (const audit::ComparedUnit& unit : compared.units)
        units.push_back(unit_json(unit));
    return {{"schema", "dropledger/compare/1"},    {"before", run_json(compared.before)},
            {"after", run_json(compared.after)},   {"confidence", compared.confidence},
            {"comparisons", compared.comparisons}, {"units", std::move(units)},
            {"not_in_both", compared.not_in_both}, {"cautions", compared.cautions}};
}

} // namespace dropledger::report
