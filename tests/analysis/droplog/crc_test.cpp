#include "analysis/droplog/crc.hpp"

#include "analysis/droplog/crc_kernels.hpp"
#include "tests/fuzz/reference.hpp"

#include <gtest/gtest.h>

#include <random>
#include <string>

using namespace dropledger::droplog;

namespace {

std::string random_bytes(std::mt19937& random, std::size_t size) {
    std::string bytes;
    for (std::size_t i = 0; i < size; ++i)
        bytes += static_cast<char>(random());
    return bytes;
}

} // namespace

// Catalogue of parametrised CRC algorithms, CRC-16/IBM-3740: check value 29B1 (recomputed).
TEST(Crc16, GivesTheCataloguesCheckValue) {
    EXPECT_EQ(crc16("123456789"), 0x29B1);
    EXPECT_EQ(crc16_by_table("123456789"), 0x29B1);
    EXPECT_EQ(reference::crc16("123456789"), 0x29B1);
}

TEST(Crc16, IsTheInitialValueOfNothing) {
    EXPECT_EQ(crc16(""), 0xFFFF);
}

TEST(Crc16, EqualsTheBitwiseDefinitionAtEveryLengthByTableAndByFolding) {
    std::mt19937 random{7};
    for (std::size_t size = 0; size <= 300; ++size) {
        for (int repeat = 0; repeat < 10; ++repeat) {
            const std::string bytes = random_bytes(random, size);
            const auto defined = reference::crc16(bytes);
            ASSERT_EQ(crc16(bytes), defined) << "length " << size;
            ASSERT_EQ(crc16_by_table(bytes), defined) << "length " << size;
            if (can_fold()) {
                ASSERT_EQ(crc16_by_folding(bytes), defined) << "length " << size;
            }
        }
    }
}
