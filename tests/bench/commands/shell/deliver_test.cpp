#include "bench/commands/shell/deliver.hpp"

#include "tests/bench/io/temporary_folder.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

using namespace dropledger;
using namespace dropledger::cli;
using files::content_of;
using files::FileKind;
using files::put_content;
using files::TemporaryFolder;

TEST(Outputs, KeepOffWhatIsReadOffEachOtherAndOffOtherKinds) {
    const TemporaryFolder folder;
    put_content(folder / "in.html", "<!doctype html>");
    put_content(folder / "letter", "Dear all,");
    std::filesystem::create_symlink("in.html", folder / "link");
    const auto refused = [&](const std::string& target) {
        return !Outputs{}
                    .reads(folder / "in.html")
                    .writes("--html", target, FileKind::html)
                    .check();
    };
    EXPECT_TRUE(refused(folder / "in.html"));
    EXPECT_TRUE(refused(folder / "link"));
    EXPECT_TRUE(refused(folder / "./in.html"));
    EXPECT_TRUE(refused(folder / "letter"));
    EXPECT_FALSE(refused(folder / "new.html"));
    EXPECT_FALSE(Outputs{}
                     .writes("--html", folder / "a", FileKind::html)
                     .writes("--csv", folder / "./a", FileKind::csv)
                     .check());
}

TEST(Outputs, WriteNothingWhereOneOfThemIsRefused) {
    const TemporaryFolder folder;
    put_content(folder / "letter", "Dear all,");
    Outputs outputs;
    outputs.writes("--html", folder / "page", FileKind::html)
        .writes("--csv", folder / "letter", FileKind::csv);
    outputs.put("--html", "<!doctype html>");
    outputs.put("--csv", "a,b\n");
    const auto delivered = outputs.deliver(0);
    ASSERT_FALSE(delivered);
    EXPECT_EQ(delivered.error().where, "option --csv");
    EXPECT_EQ(folder.entries(), 1);
    EXPECT_EQ(content_of(folder / "letter"), "Dear all,");
}

TEST(Outputs, LeaveAFileAloneThatGotNoContent) {
    const TemporaryFolder folder;
    Outputs outputs;
    outputs.writes("--out", folder / "c.json", FileKind::certificate);
    const auto delivered = outputs.deliver(1);
    ASSERT_TRUE(delivered);
    EXPECT_EQ(*delivered, 1);
    EXPECT_EQ(folder.entries(), 0);
}

TEST(Printed, IsUtf8WhateverTheTextWas) {
    EXPECT_EQ(printed({{"a", "\xFF"}}), "{\n  \"a\": \"\xEF\xBF\xBD\"\n}\n");
}
