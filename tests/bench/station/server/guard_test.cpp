#include "bench/station/server/guard.hpp"

#include <gtest/gtest.h>

using namespace dropledger::station;

namespace {

const Guard guard(8080, "first", "secret");

Sender own() {
    return {.host = "127.0.0.1:8080",
            .cookie = "other=1; station_8080=secret",
            .origin = "http://127.0.0.1:8080",
            .fetch_site = "same-origin"};
}

} // namespace

TEST(Guard, LetsAPageOfOursIn) {
    EXPECT_EQ(guard.refusal(own(), true), std::nullopt);
    Sender typed = own(); // in the browser's line
    typed.origin.clear();
    typed.fetch_site = "none";
    EXPECT_EQ(guard.refusal(typed, false), std::nullopt);
}

TEST(Guard, RefusesAForeignNameThatLeadsHere) {
    for (const char* const host :
         {"evil.example:8080", "127.0.0.1", "127.0.0.1:80", "", "localhost"}) {
        Sender sender = own();
        sender.host = host;
        sender.origin = std::string("http://") + host;
        EXPECT_NE(guard.refusal(sender, false), std::nullopt) << host;
    }
}

TEST(Guard, RefusesWhoeverHasNoCookieOrAnother) {
    for (const char* const cookie :
         {"", "station_8080=", "station_8080=secre", "station_8080=secretx", "station_8081=secret",
          "station_8080=first", "xstation_8080=secret"}) {
        Sender sender = own();
        sender.cookie = cookie;
        EXPECT_NE(guard.refusal(sender, false), std::nullopt) << cookie;
    }
}

TEST(Guard, RefusesAChangeThatAnotherPageAsksFor) {
    for (const char* const origin : {"", "null", "http://evil.example", "http://127.0.0.1:8081",
                                     "https://127.0.0.1:8080", "http://localhost:8080"}) {
        Sender sender = own();
        sender.origin = origin;
        EXPECT_NE(guard.refusal(sender, true), std::nullopt) << origin;
    }
    for (const char* const site : {"cross-site", "same-site"}) {
        Sender sender = own();
        sender.fetch_site = site;
        EXPECT_NE(guard.refusal(sender, true), std::nullopt) << site;
        EXPECT_NE(guard.refusal(sender, false), std::nullopt) << site;
    }
}

TEST(Guard, WelcomesTheFirstTokenOnly) {
    ASSERT_TRUE(guard.welcome("first"));
    EXPECT_EQ(*guard.welcome("first"), "station_8080=secret; Path=/; HttpOnly; SameSite=Strict");
    for (const char* const token : {"", "firs", "firstx", "secret"})
        EXPECT_EQ(guard.welcome(token), std::nullopt) << token;
}

TEST(RandomToken, IsLongAndAnotherEachTime) {
    const std::string one = random_token();
    EXPECT_EQ(one.size(), 64U);
    EXPECT_NE(one, random_token());
}
