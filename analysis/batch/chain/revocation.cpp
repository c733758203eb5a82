#include "analysis/batch/chain/revocation.hpp"

#include "analysis/base/text.hpp"
#include "analysis/batch/chain/entries.hpp"
#include "analysis/batch/chain/journal.hpp"
#include "analysis/batch/runs/members.hpp"

namespace dropledger::batch {

Result<RevocationStatement> revocation_in(std::string_view text) {
    const auto refused = [](const std::string& what) {
        return input_error("revocation", what,
                           "take the file as `dropledger batch revoke` wrote it");
    };
    const auto entry = signed_entry(trim(text));
    if (!entry)
        return refused(entry.error().what);
    try {
        const nlohmann::json& body = entry->body;
        if (body.at("kind") != nlohmann::json(name_of(Act::revoke)))
            return refused("it takes no certificate back");
        return RevocationStatement{body.at("sha256").get<std::string>(),
                                   word_in(revocation_cause_names, body, "cause"),
                                   body.at("text").get<std::string>(),
                                   body.at("at").get<std::string>(), entry->public_key};
    } catch (const nlohmann::json::exception& problem) {
        return refused(problem.what());
    } catch (const std::out_of_range& problem) {
        return refused(problem.what());
    }
}

} // namespace dropledger::batch
