#include "analysis/batch/chain/batch_file.hpp"
#include "analysis/batch/chain/order.hpp"
#include "bench/evidence/verify/checks.hpp"
#include "bench/evidence/verify/nearness.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <array>
#include <string_view>

namespace dropledger::evidence {

using batch::Certificate;
using Json = nlohmann::json;

namespace {

constexpr std::size_t most_differences = 20; // more say no more

// What a certificate says against what follows; only its statistics may be of another version's making.
class Comparison {
public:
    Comparison(const Certificate& certificate, std::vector<std::string>& otherwise)
        : certificate_(certificate), otherwise_(otherwise) {}

    [[nodiscard]] std::vector<std::string> differences(const Json& again, const Json& stated) {
        compare(again, stated, "");
        return std::move(places_);
    }

private:
    void say(const std::string& place) {
        if (places_.size() < most_differences)
            places_.push_back(place);
    }
    void compare(const Json& again, const Json& stated, const std::string& place);
    void compare_objects(const Json& again, const Json& stated, const std::string& place);
    [[nodiscard]] bool same_number(double again, double stated, const std::string& place);

    const Certificate& certificate_;
    std::vector<std::string>& otherwise_;
    std::vector<std::string> places_;
};

void Comparison::compare_objects(const Json& again, const Json& stated, const std::string& place) {
    const std::string within = place.empty() ? "" : place + ".";
    for (auto member = again.begin(); member != again.end(); ++member) {
        const auto found = stated.find(member.key());
        if (found == stated.end())
            say(within + member.key());
        else
            compare(*member, *found, within + member.key());
    }
    for (auto member = stated.begin(); member != stated.end(); ++member)
        if (!again.contains(member.key()))
            say(within + member.key());
}

// Estimates, not what they were asked with (limit, confidence).
bool is_worked_out(std::string_view place) {
    return place.starts_with("statistics.") &&
           (place.ends_with(".value") || place.ends_with(".low") || place.ends_with(".high") ||
            place.ends_with(".tarone_p"));
}

bool Comparison::same_number(double again, double stated, const std::string& place) {
    const Nearness found = nearness(certificate_, again, stated);
    if (found != Nearness::by_another_version || !is_worked_out(place))
        return found == Nearness::same;
    otherwise_.push_back(told(certificate_, place, again, stated));
    return true;
}

void Comparison::compare(const Json& again, const Json& stated, const std::string& place) {
    if (again.is_object() && stated.is_object())
        return compare_objects(again, stated, place);
    if (again.is_array() && stated.is_array()) {
        if (again.size() != stated.size())
            return say(place);
        for (std::size_t i = 0; i < again.size(); ++i)
            compare(again[i], stated[i], fmt::format("{}[{}]", place, i));
        return;
    }
    const bool is_float = (again.is_number_float() && stated.is_number()) ||
                          (again.is_number() && stated.is_number_float());
    const bool same =
        is_float ? same_number(again.get<double>(), stated.get<double>(), place) : again == stated;
    if (!same)
        say(place);
}

struct CodeOfPlace {
    std::string_view place;
    std::string_view code;
};
constexpr std::array<CodeOfPlace, 8> codes{{{"plan", "plan_differs"},
                                            {"decision", "decision_differs"},
                                            {"statistics", "statistics_differ"},
                                            {"runs", "runs_differ"},
                                            {"batch.cho", "choice_differs"},
                                            {"batch.serials", "serials_changed"},
                                            {"profile", "profile_changed"},
                                            {"remarks", "remarks_differ"}}};

std::string code_of(std::string_view place) {
    for (const CodeOfPlace& one : codes)
        if (place.starts_with(one.place))
            return std::string{one.code};
    return "member_differs";
}

} // namespace

std::optional<batch::Batch> check_batch(const Certificate& certificate, const Folder& folder,
                                        Failures& failures) {
    const batch::CertifiedJournal& stated = certificate.batch.journal;
    const auto fail = [&](const char* code, std::string what) {
        failures.push_back({code, stated.file, std::move(what)});
        return std::nullopt;
    };
    if (!is_plain_name(stated.file) || !folder.holds(stated.file))
        return fail("batch_missing",
                    "the batch file, from which all follows, is not in the folder");
    constexpr std::size_t longest = std::size_t{64} << 20U;
    const auto source = folder.open(stated.file)();
    const auto text = source ? read_whole(**source, longest) : Result<std::string>(source.error());
    if (!text)
        return fail("batch_missing", text.error().what);
    const auto whole = batch::parse_batch(*text, stated.file);
    if (!whole)
        return fail("batch_changed", whole.error().what);
    // What was done since, a revocation, takes nothing from what was certified.
    auto batch = batch::parse_batch(*text, stated.file, stated.head);
    if (!batch)
        throw BrokenInvariant("a batch file that holds as a whole does not in part");
    if (batch->journal.head() != stated.head || batch->journal.opening() != stated.opening)
        return fail("batch_changed", fmt::format("its last entry has the hash {}, certified was {}",
                                                 batch->journal.head(), stated.head));
    return *std::move(batch);
}

void check_follows(const Certificate& certificate, const batch::Batch& batch, const Means& means,
                   Findings& findings) {
    Failures& failures = findings.failures;
    for (const batch::Violation& broken : batch::violations(batch))
        failures.push_back({broken.code, broken.where, broken.what});
    const auto again = means.draw(batch, {.batch_file = certificate.batch.journal.file,
                                          .issued = certificate.issued,
                                          .valid_until = certificate.valid_until,
                                          .by_program = certificate.program,
                                          .pages_sha256 = certificate.pages_sha256,
                                          .report = certificate.report});
    if (!again) {
        failures.push_back({"decision_differs", "decision", again.error().what});
        return;
    }
    Json stated = batch::json_of(certificate);
    Json follows = batch::json_of(*again);
    for (Json* one : {&stated, &follows}) {
        one->erase("public_key");
        one->erase("signature");
    }
    for (const std::string& place :
         Comparison(certificate, findings.otherwise).differences(follows, stated))
        failures.push_back({code_of(place), place,
                            "it is not what follows from the batch file and the fixed texts"});
}

} // namespace dropledger::evidence
