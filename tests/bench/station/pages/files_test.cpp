#include "bench/station/pages/files.hpp"

#include <gtest/gtest.h>

using namespace dropledger::station;

TEST(FileIn, TakesAPlainNameWithTheRightEnding) {
    const auto file = file_in("/logs", "run 1 \xC3\xA9.droplog", ".droplog");
    ASSERT_TRUE(file);
    EXPECT_EQ(*file, "/logs/run 1 \xC3\xA9.droplog");
}

TEST(FileIn, RefusesAWayToAnotherFolderAndWhatIsHidden) {
    for (const char* const name : {"../x.toml", "a/b.toml", "/etc/x.toml", ".x.toml", "", ".toml",
                                   "x.droplog", "x\n.toml", "..", "x.toml/"})
        EXPECT_FALSE(file_in("/logs", name, ".toml")) << name;
    EXPECT_FALSE(file_in("/logs", std::string(300, 'a') + ".toml", ".toml"));
}

// "'.toml' is no name of a file here; give a plain name that ends in .toml": nobody typed that.
TEST(AMadeUpName, IsRefusedWithoutAnEndingThatNobodyTyped) {
    const auto file = made_up_file_in("/logs", "may", ".batch.json");
    ASSERT_TRUE(file);
    EXPECT_EQ(*file, "/logs/may.batch.json");
    for (const char* const name : {"", "../x", "a/b", ".x"}) {
        const auto refused = made_up_file_in("/logs", name, ".batch.json");
        ASSERT_FALSE(refused) << name;
        EXPECT_EQ(refused.error().message().find("batch.json"), std::string::npos);
    }
}
