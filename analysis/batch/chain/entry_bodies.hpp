// The parts of a journal's entries as JSON. Private to the room.
//
// Undefined when: a member is missing, of another kind, unknown, or does not follow from the
// others: an exception, caught where entries are applied.
#pragma once

#include "analysis/batch/chain/batch.hpp"

#include <nlohmann/json.hpp>

#include <stdexcept>

namespace dropledger::batch {

// What is wrong with an entry.
struct WrongEntry : std::runtime_error {
    using std::runtime_error::runtime_error;
};

[[nodiscard]] nlohmann::json json_of(const BatchPlan& plan);
// The numbers are made anew and must be those that are written.
[[nodiscard]] BatchPlan plan_in(const nlohmann::json& json, std::int64_t lot);

[[nodiscard]] nlohmann::json json_of(const BatchProfile& profile);
[[nodiscard]] BatchProfile profile_in(const nlohmann::json& json);

[[nodiscard]] nlohmann::json json_of(const Choice& choice);
[[nodiscard]] Choice choice_in(const nlohmann::json& json);

[[nodiscard]] nlohmann::json json_of(const EarlierBatch& earlier);
[[nodiscard]] EarlierBatch earlier_in(const nlohmann::json& json);

// Throws where `again`, made of what was read, is not what was written: a member too many, a number
// in another form.
void check_same(const nlohmann::json& again, const nlohmann::json& written, const char* what);

} // namespace dropledger::batch
