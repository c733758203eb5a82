#include "analysis/batch/chain/batch_file.hpp"

#include "small_batch.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

using namespace dropledger;
using namespace dropledger::batch;

TEST(Choice, OfABuyerIsBoundBeforeHeSpeaks) {
    OpenRequest request;
    request.id = "B-1";
    request.serials = serials(20);
    request.profile = {"p", droplog::to_hex(droplog::sha256("text")), "text"};
    request.plan = *own_plan(20, 5, 0);
    request.choice.origin = SeedOrigin::with_buyer;
    request.choice.commitment = commitment_to("the bench's part");
    Batch batch = *open_batch(request, at("2026-01-04T08:00:00Z"));
    EXPECT_TRUE(batch.chosen.empty());
    EXPECT_NE(why_not(batch, TestedRun{}).find("not chosen yet"), std::string::npos);
    EXPECT_FALSE(choose_with(batch, {"another part", "hens"}, at(later)));
    EXPECT_FALSE(choose_with(batch, {"the bench's part", ""}, at(later)));
    EXPECT_TRUE(choose_with(batch, {"the bench's part", "hens"}, at(later)));
    EXPECT_EQ(batch.chosen_at, later);
    EXPECT_EQ(batch.chosen,
              chosen_units(batch.serials, 5, seed_with_buyer("the bench's part", "hens")));
    EXPECT_FALSE(choose_with(batch, {"the bench's part", "cows"}, at(later)));
    // printf 'the bench'"'"'s part\nhens' | sha256sum, its first 16 digits
    EXPECT_EQ(fmt::format("{:016x}", *batch.choice.seed), "d259aab3239ae190");
}

TEST(BatchFile, ReadsWhatItWroteAndRefusesWhatWasTamperedWith) {
    Batch batch = opened(280, *table_plan({280, "II", 1.0, Severity::normal}, "as asked"), 99);
    const UsedCalibration calibration{"CAL", "cal.toml", "ff", "2027-01-01", "gate 1", {}};
    UsedCalibration other = calibration;
    other.sha256 = "ee";
    EXPECT_TRUE(add_runs(batch, {{run(batch, 0, "a", "within")}, {calibration}, ""}, at(later)));
    EXPECT_TRUE(add_runs(batch, {{}, {calibration}, ""}, at(later)));
    EXPECT_FALSE(add_runs(batch, {{}, {other}, ""}, at(later)));
    EXPECT_FALSE(add_runs(batch, {{}, {}, ""}, at("2026-01-31T08:00:00Z"))); // earlier
    const std::string text = to_text(batch);
    const auto again = parse_batch(text, "b");
    ASSERT_TRUE(again) << again.error().message();
    EXPECT_EQ(to_text(*again), text);
    EXPECT_EQ(again->journal.entries().size(), 3U);

    for (std::size_t i = 0; i < text.size(); i += 61) { // whatever byte is changed
        std::string changed = text;
        changed[i] = static_cast<char>(changed[i] ^ 1);
        EXPECT_FALSE(parse_batch(changed, "b")) << i;
    }
    const std::size_t second = text.find("\n{\"body\"", text.find("\n{\"body\"") + 1) + 1;
    const std::size_t third = text.find("\n{\"body\"", second) + 1;
    std::string without = text;
    without.erase(second, third - second);
    EXPECT_NE(parse_batch(without, "b").error().what.find("does not follow the entry before it"),
              std::string::npos);
    EXPECT_NE(parse_batch("[]", "b").error().what.find("version"), std::string::npos);
    EXPECT_NE(parse_batch("{\n \"schema\": \"dropledger/batch-file/1\"}", "b")
                  .error()
                  .what.find("first version"),
              std::string::npos);
}

// What a holder of the key may sign, and no reader believes.
TEST(BatchFile, RefusesSignedEntriesThatCannotFollow) {
    const auto why = [](nlohmann::json body) {
        Batch batch = small();
        EXPECT_TRUE(batch.journal.append(std::move(body), at(later)));
        const auto read = parse_batch(to_text(batch), "b");
        return read ? std::string{} : read.error().what;
    };
    const auto says = [](const std::string& what, const char* words) {
        return what.find(words) != std::string::npos;
    };
    EXPECT_TRUE(says(why({{"kind", "decide"}, {"outcome", "accepted"}, {"nonconforming", 0}}),
                     "does not follow"));
    EXPECT_TRUE(says(why({{"kind", "praise"}}), "is called 'praise'"));
    EXPECT_TRUE(says(why({{"kind", "add"},
                          {"reason", ""},
                          {"runs", nlohmann::json::array()},
                          {"calibrations", nlohmann::json::array()},
                          {"praise", "all good"}}),
                     "a member 'praise'"));
    EXPECT_FALSE(why({{"kind", "void"}}).empty());
    EXPECT_FALSE(why({{"kind", 5}}).empty());
}
