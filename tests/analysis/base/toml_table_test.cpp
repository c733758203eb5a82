#include "analysis/base/readers/toml_table.hpp"

#include <gtest/gtest.h>

using namespace dropledger;

namespace {

TomlDocument document_of(const std::string& text) {
    auto document = TomlDocument::parse(text, "t.toml");
    if (!document)
        throw std::logic_error(document.error().message());
    return *std::move(document);
}

} // namespace

TEST(TomlTable, ReadsKeysOfEveryKind) {
    TomlDocument document = document_of(
        "name = \"a\"\nshare = 0.5\ncount = 3\n[inner]\nx = 1\n[[row]]\ny = 1\n[[row]]\ny = 2\n");
    TomlTable root = document.root();
    root.only({"name", "share", "count", "inner", "row"});
    EXPECT_EQ(root.text("name"), "a");
    EXPECT_EQ(root.number("share", 0.0, 1.0), 0.5);
    EXPECT_EQ(root.number("count", 0.0, 9.0), 3.0); // a whole number is a number
    EXPECT_EQ(root.whole_number("count", 0.0, 9.0), 3);
    EXPECT_EQ(root.table("inner")->number("x", 0.0, 9.0), 1.0);
    EXPECT_EQ(root.tables("row").size(), 2U);
    EXPECT_FALSE(root.text("absent"));
    EXPECT_FALSE(root.table("absent"));
    EXPECT_TRUE(root.tables("absent").empty());
    EXPECT_EQ(root.keys().size(), 5U);
    EXPECT_FALSE(document.problem());
}

TEST(TomlTable, KeepsTheFirstThingWrongWithItsLine) {
    struct Row {
        const char* text;
        void (*read)(TomlTable);
        const char* where;
        const char* what;
    };
    const Row rows[] = {
        {"\nname = 1\n", [](TomlTable t) { (void)t.text("name"); }, "t.toml:2",
         "name is not a text"},
        {"a = 1\nb = 7.5\n", [](TomlTable t) { (void)t.number("b", 0.0, 1.0); }, "t.toml:2",
         "b = 7.5 cannot be"},
        {"a = nan\n", [](TomlTable t) { (void)t.number("a", 0.0, 1.0); }, "t.toml:1", "cannot be"},
        {"a = 1.5\n", [](TomlTable t) { (void)t.whole_number("a", 0.0, 9.0); }, "t.toml:1",
         "not a whole number"},
        {"a = 1\n", [](TomlTable t) { (void)t.table("a"); }, "t.toml:1", "a is not a table"},
        {"a = [1, 2]\n", [](TomlTable t) { (void)t.tables("a"); }, "t.toml:1",
         "not a list of tables"},
        {"a = 1\nc = 1\n", [](TomlTable t) { t.only({"a"}); }, "t.toml:2", "unknown key 'c'"},
        {"a = 1\n", [](TomlTable t) { t.missing("b", "it must be there"); }, "t.toml:1",
         "key 'b' is missing"},
        {"a = 1\n[in]\nb = 9\n",
         [](TomlTable t) {
             (void)t.table("in")->number("b", 0.0, 1.0);
             (void)t.text("a"); // later: not kept
         },
         "t.toml:3", "b = 9"},
    };
    for (const Row& row : rows) {
        TomlDocument document = document_of(row.text);
        row.read(document.root());
        ASSERT_TRUE(document.problem()) << row.text;
        EXPECT_EQ(document.problem()->where, row.where);
        EXPECT_NE(document.problem()->what.find(row.what), std::string::npos)
            << document.problem()->what;
        EXPECT_FALSE(document.problem()->remedy.empty());
    }
}

TEST(TomlTable, NamesTheLineOfWhatIsNoToml) {
    const auto refused = TomlDocument::parse("a = 1\n[open\n", "t.toml");
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().where, "t.toml:2");
}
