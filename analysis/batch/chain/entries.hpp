// An entry of a journal, done to a batch. Private to the room.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/batch/chain/batch.hpp"

#include <nlohmann/json_fwd.hpp>

#include <array>
#include <cstdint>
#include <string_view>

namespace dropledger::batch {

// What an entry does to the batch: its `kind`.
enum class Act : std::uint8_t { open, choose, add, make_void, decide, revoke };

inline constexpr std::array act_names{
    EnumName{Act::open, "open"},     EnumName{Act::choose, "choose"},
    EnumName{Act::add, "add"},       EnumName{Act::make_void, "void"},
    EnumName{Act::decide, "decide"}, EnumName{Act::revoke, "revoke"},
};
static_assert(names_all<act_names>());

[[nodiscard]] constexpr std::string_view name_of(Act act) {
    return row_in(act_names, act).key;
}

// `body` with its `kind` and `at`. Fails where the rules forbid it or a member is not as it is
// written; the batch is of no use then.
[[nodiscard]] Status take_entry(Batch& batch, const nlohmann::json& body);

} // namespace dropledger::batch
