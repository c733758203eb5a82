#include "bench/io/file_head.hpp"

#include "tests/bench/io/temporary_folder.hpp"

#include <gtest/gtest.h>

#include <fstream>

using namespace dropledger;

TEST(FileHead, HoldsSoManyBytesOrAllThereAre) {
    const files::TemporaryFolder folder;
    const std::string file = folder / "a.txt";
    std::ofstream(file) << "seven b";
    EXPECT_EQ(files::head_of(file, 5).value(), "seven");
    EXPECT_EQ(files::head_of(file, 7).value(), "seven b");
    EXPECT_EQ(files::head_of(file, 100).value(), "seven b");
    EXPECT_FALSE(files::head_of(folder / "none.txt", 5));
}
