#include "bench/controller/core/controller_name.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>

namespace dropledger::controller {
namespace {

std::string name(const std::string& program, const std::string& in_memory) {
    std::uint8_t serial[serial_room];
    std::fill(std::begin(serial), std::end(serial), std::uint8_t{0xFF}); // erased
    std::copy_n(in_memory.begin(), std::min<std::size_t>(in_memory.size(), serial_room), serial);
    char text[name_room];
    write_name(program.c_str(), serial, text);
    return text;
}

TEST(ControllerName, HasTheSerialBehindTheProgram) {
    EXPECT_EQ(name("maker%201", "B-0007"), "maker%201%20#B-0007");
    EXPECT_EQ(name("maker", "a.Z9\nold"), "maker%20#a.Z9");
    EXPECT_EQ(name("maker", "123456789012345"), "maker%20#123456789012") << "as much as has room";
}

TEST(ControllerName, IsTheProgramAloneWhereNothingIsASerial) {
    EXPECT_EQ(name("maker", ""), "maker");
    EXPECT_EQ(name("maker", ",*B"), "maker") << "nothing that the format would have to encode";
}

TEST(ControllerName, IsCutToItsRoom) {
    EXPECT_EQ(name(std::string(100, 'm'), "B").size(), name_room - 1U);
}

} // namespace
} // namespace dropledger::controller
