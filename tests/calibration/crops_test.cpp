#include <gtest/gtest.h>
#include <toml++/toml.h>

#include <array>
#include <filesystem>
#include <string>

// Every seed fact says where it is from, and is a range that can be.
TEST(Crops, EveryFactHasASourceOrSaysThatItHasNone) {
    const std::filesystem::path folder =
        std::filesystem::path(DROPLEDGER_FIXTURES).parent_path() / "calibration/crops";
    int facts = 0;
    for (const auto& file : std::filesystem::directory_iterator(folder)) {
        if (file.path().extension() != ".toml")
            continue;
        const toml::table crop = toml::parse_file(file.path().string());
        EXPECT_FALSE(crop["name"].value_or(std::string{}).empty()) << file.path();
        for (const auto& [key, node] : crop) {
            const toml::table* const fact = node.as_table();
            if (fact == nullptr)
                continue;
            ++facts;
            const double low = (*fact)["low"].value_or(0.0);
            const double high = (*fact)["high"].value_or(0.0);
            EXPECT_GT(low, 0.0) << file.path() << key;
            EXPECT_LE(low, high) << file.path() << key;
            EXPECT_GE((*fact)["source"].value_or(std::string{}).size(), 10U) << file.path() << key;
        }
    }
    EXPECT_GT(facts, 20);
}
