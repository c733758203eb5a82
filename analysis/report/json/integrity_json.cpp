#include "analysis/report/json/integrity_json.hpp"

#include "analysis/base/readers/or_null.hpp"

#include <nlohmann/json.hpp>

namespace dropledger::report {

namespace {

using Json = nlohmann::ordered_json;

Json lines_json(const droplog::LineTally& lines) {
    return {{"used", lines.used},
            {"unknown", lines.unknown},
            {"damaged", lines.damaged},
            {"repeated", lines.repeated},
            {"conflicting", lines.conflicting},
            {"out_of_order", lines.out_of_order}};
}

Json seals_json(const droplog::SealTally& seals) {
    return {{"count", seals.count},
            {"intact", seals.intact},
            {"first_bad_line", or_null(seals.first_bad_line)}};
}

} // namespace

Json integrity_json(const droplog::Integrity& integrity) {
    return {{"lines", lines_json(integrity.lines)},     {"lost", integrity.lost},
            {"sequence_gaps", integrity.sequence_gaps}, {"torn_tail", integrity.torn_tail},
            {"seals", seals_json(integrity.seals)},     {"signed", integrity.is_signed},
            {"complete", integrity.complete()}};
}

} // namespace dropledger::report
