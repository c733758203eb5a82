// The parts of a journal's entries as JSON.
//
// Undefined when: a member is missing, of another kind, unknown, or does not follow from the
// others: an exception, caught where entries are applied.
#pragma once

#include "analysis/batch/chain/batch.hpp"
#include "analysis/batch/runs/json_parts.hpp"

#include <nlohmann/json.hpp>

#include <stdexcept>
#include <tuple>

namespace dropledger::batch {

// What is wrong with an entry.
struct WrongEntry : std::runtime_error {
    using std::runtime_error::runtime_error;
};

template <> struct Members<BatchProfile> {
    static constexpr std::tuple list{Member{"name", &BatchProfile::name},
                                     Member{"sha256", &BatchProfile::sha256},
                                     Member{"text", &BatchProfile::text}};
};

template <> struct Members<Revocation> {
    static constexpr std::tuple list{
        Member{"certificate", &Revocation::certificate}, Member{"sha256", &Revocation::sha256},
        Word{"cause", &Revocation::cause, revocation_cause_names},
        Member{"text", &Revocation::text}, Member{"at", &Revocation::at}};
};

[[nodiscard]] nlohmann::json json_of(const BatchPlan& plan);
// The numbers are made anew and must be those that are written.
[[nodiscard]] BatchPlan plan_in(const nlohmann::json& json, std::int64_t lot);

[[nodiscard]] BatchProfile profile_in(const nlohmann::json& json);

[[nodiscard]] nlohmann::json json_of(const Choice& choice);
[[nodiscard]] Choice choice_in(const nlohmann::json& json);

[[nodiscard]] EarlierBatch earlier_in(const nlohmann::json& json);

// Throws where `again`, made of what was read, is not what was written: a member too many, a number
// in another form.
void check_same(const nlohmann::json& again, const nlohmann::json& written, const char* what);

} // namespace dropledger::batch
