#include "analysis/base/readers/nesting.hpp"
#include "analysis/base/readers/toml_table.hpp"

#include <gtest/gtest.h>

using namespace dropledger;

namespace {

std::string dotted(std::size_t parts) {
    std::string key = "a";
    for (std::size_t i = 1; i < parts; ++i)
        key += ".a";
    return key;
}

} // namespace

// 2026-11-25: a key of 32,500 parts (65 kB) ended whatever read it with a signal: profiles,
// settings, scenarios, mappings, calibrations, and with one such file in its folder the rebuilding
// of a book.
TEST(TomlNesting, RefusesKeysAndBracketsThatGoTooDeep) {
    EXPECT_TRUE(toml_is_shallow(dotted(32) + " = 1\n", "t"));
    for (const std::string& text :
         {dotted(33) + " = 1\n", "[" + dotted(32'500) + "]\n", "b = {" + dotted(40) + " = 1}\n",
          "x = " + std::string(33, '[') + std::string(33, ']') + "\n",
          "\"=\"." + dotted(40) + " = 1\n", "'#'." + dotted(40) + " = 1\n"}) {
        const Status shallow = toml_is_shallow("\n" + text, "t.toml");
        ASSERT_FALSE(shallow) << text.substr(0, 60);
        EXPECT_EQ(shallow.error().where, "t.toml:2");
        EXPECT_FALSE(TomlDocument::parse(text, "t.toml"));
    }
}

TEST(TomlNesting, LeavesTextsCommentsAndNumbersAlone) {
    const std::string dots(200, '.');
    std::string decimals = "x = [0.5";
    for (int i = 0; i < 200; ++i)
        decimals += ", 1.5";
    for (const std::string& text :
         {"x = \"" + dots + "\"\n", "x = '" + dots + "'\n", "# " + dots + "\n",
          "x = \"\"\"\n" + dots + "\"\"\"\"\n", "x = '''" + dots + "[[['''\n",
          "x = \"\\\"" + dots + "\"\n", decimals + "]\n"})
        EXPECT_TRUE(toml_is_shallow(text, "t")) << text;
}

TEST(TomlNesting, RefusesAFileThatIsTooLongToBeOne) {
    EXPECT_FALSE(toml_is_shallow(std::string(most_toml_bytes + 1, '\n'), "t"));
}
