#include "bench/station/server/routes.hpp"

#include <gtest/gtest.h>

using namespace dropledger::station;

namespace {

Routes table() {
    return Routes({{Method::get, "/", {}},
                   {Method::get, "/verdict/*", {}},
                   {Method::post, "/verdict/*", {}},
                   {Method::post, "/run/halt", {}}});
}

} // namespace

TEST(Routes, GivesWhatAStarStandsForDecoded) {
    const Routes routes = table();
    const Match match = routes.match("GET", "/verdict/a%2Fb.droplog");
    ASSERT_NE(match.route, nullptr);
    EXPECT_EQ(match.parts, std::vector<std::string>{"a/b.droplog"});
}

TEST(Routes, TellsAnotherMethodFromAnUnknownPath) {
    const Routes routes = table();
    EXPECT_EQ(routes.match("GET", "/run/halt").route, nullptr);
    EXPECT_EQ(routes.match("GET", "/run/halt").allowed, "POST");
    EXPECT_EQ(routes.match("DELETE", "/verdict/x").allowed, "GET, POST");
    EXPECT_EQ(routes.match("GET", "/nowhere").allowed, "");
}

TEST(Routes, TakesNoEmptyPartAndNoPartTooMany) {
    const Routes routes = table();
    for (const char* const path :
         {"/verdict/", "/verdict", "/verdict/a/b", "/verdict/%00", "//", ""})
        EXPECT_EQ(routes.match("GET", path).route, nullptr) << path;
}
