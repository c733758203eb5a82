#include "bench/station/pages/jobs.hpp"

#include <gtest/gtest.h>

#include <future>

using namespace dropledger;
using namespace dropledger::station;

namespace {

OpenBytes bytes(const std::string& text) {
    return [text]() -> Result<std::unique_ptr<ByteSource>> {
        return std::unique_ptr<ByteSource>(std::make_unique<StringSource>(text));
    };
}

} // namespace

TEST(Jobs, AnswersShortWorkAtOnce) {
    Jobs jobs;
    const Response answer =
        jobs.run("Short", "/", [](const auto&) { return Response{.body = "done"}; });
    EXPECT_EQ(answer.body, "done");
}

TEST(Jobs, ShowsLongWorkAndGivesItsAnswerOnceItIsThere) {
    Jobs jobs;
    std::promise<void> let_go;
    auto waits = let_go.get_future().share();
    const Response first = jobs.run("Long", "/", [waits](const auto&) {
        waits.wait();
        return Response{.body = "done"};
    });
    ASSERT_EQ(first.status, 303U);
    const std::string id = first.location.substr(first.location.rfind('/') + 1);
    EXPECT_NE(jobs.page(id, "").body.find("http-equiv=\"refresh\""), std::string::npos);
    let_go.set_value();
    Response last = jobs.page(id, "");
    while (last.body != "done")
        last = jobs.page(id, "");
    EXPECT_EQ(last.status, 200U);
}

TEST(Jobs, LetsNothingBeReadOnceTheyAreCancelled) {
    Progress progress;
    const OpenBytes open = progress.counted(bytes("abcdef"), 6);
    auto source = open();
    ASSERT_TRUE(source);
    std::array<char, 3> room{};
    EXPECT_EQ(*(*source)->read(room), 3U);
    EXPECT_EQ(progress.words(), "0.0 of 0.0 MB read");
    progress.cancel();
    EXPECT_FALSE((*source)->read(room));
}

TEST(Jobs, TellHowFarAnotherProgramIs) {
    Progress progress;
    progress.has_read(2'000'000);
    EXPECT_EQ(progress.words(), "2.0 MB read");
    progress.expect(5'000'000);
    EXPECT_EQ(progress.words(), "2.0 of 5.0 MB read");
}

TEST(Jobs, AnswersWorkThatThrows) {
    Jobs jobs;
    const Response answer =
        jobs.run("Bad", "/", [](const auto&) -> Response { throw BrokenInvariant("two and two"); });
    EXPECT_EQ(answer.status, 500U);
    EXPECT_NE(answer.body.find("two and two"), std::string::npos);
}

TEST(Jobs, TellsAnUnknownOne) {
    Jobs jobs;
    EXPECT_EQ(jobs.page("nowhere", "").status, 404U);
}
