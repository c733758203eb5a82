#include "analysis/base/enum_names.hpp"

#include <gtest/gtest.h>

#include <cstdint>

using namespace dropledger;

namespace {

enum class Colour : std::uint8_t { red, green, blue };

constexpr std::array whole{EnumName{Colour::red, "red"}, EnumName{Colour::green, "green"},
                           EnumName{Colour::blue, "blue"}};
constexpr std::array one_missing{EnumName{Colour::red, "red"}, EnumName{Colour::green, "green"}};
constexpr std::array out_of_order{EnumName{Colour::green, "green"}, EnumName{Colour::red, "red"},
                                  EnumName{Colour::blue, "blue"}};
constexpr std::array one_name_twice{EnumName{Colour::red, "red"}, EnumName{Colour::green, "red"},
                                    EnumName{Colour::blue, "blue"}};
constexpr std::array one_without{EnumName{Colour::red, "red"}, EnumName{Colour::green, ""},
                                 EnumName{Colour::blue, "blue"}};

} // namespace

TEST(EnumNames, HoldsForAWholeTableOnly) {
    EXPECT_TRUE(names_all<whole>());
    EXPECT_FALSE(names_all<one_missing>());
    EXPECT_FALSE(names_all<out_of_order>());
    EXPECT_FALSE(names_all<one_name_twice>());
    EXPECT_FALSE(names_all<one_without>());
}

TEST(EnumNames, ReadsBackEveryNameAndNoOther) {
    for (const auto& row : whole)
        EXPECT_EQ(value_named(whole, row_in(whole, row.value).key), row.value);
    EXPECT_FALSE(value_named(whole, "Red"));
    EXPECT_FALSE(value_named(whole, ""));
}

TEST(EnumNames, ThrowsForAValueThatIsNone) {
    EXPECT_THROW((void)row_in(whole, static_cast<Colour>(3)), BrokenInvariant);
}
