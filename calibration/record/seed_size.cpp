#include "calibration/record/seed_size.hpp"

#include "analysis/base/readers/toml_table.hpp"
#include "calibration_crops.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::calibration {

using statistics::Interval;

namespace {

std::optional<Interval> range_of(TomlTable crop, std::string_view fact) {
    constexpr double least = 1e-9;
    constexpr double most = 1e6;
    auto range = crop.table(fact);
    const auto low = range ? range->number("low", least, most) : std::nullopt;
    const auto high = range ? range->number("high", least, most) : std::nullopt;
    return low && high && *high >= *low ? std::optional{Interval{*low, *high}} : std::nullopt;
}

// The diameter, or that of a ball of the same length times width times thickness.
std::optional<Interval> size_of(const TomlTable& crop) {
    if (const auto diameter = range_of(crop, "diameter_mm"))
        return diameter;
    const auto length = range_of(crop, "length_mm");
    const auto width = range_of(crop, "width_mm");
    const auto thickness = range_of(crop, "thickness_mm");
    if (!length || !width || !thickness)
        return std::nullopt;
    return Interval{std::cbrt(length->low * width->low * thickness->low),
                    std::cbrt(length->high * width->high * thickness->high)};
}

// Size over the cube root of mass, in mm per cube root of a gram a thousand.
std::optional<Interval> factor_of(const TomlTable& facts) {
    const auto mass = range_of(facts, "thousand_seed_mass_g");
    const auto size = size_of(facts);
    if (!mass || !size)
        return std::nullopt;
    const auto [low, high] =
        std::minmax({size->low / std::cbrt(mass->low), size->high / std::cbrt(mass->high)});
    return Interval{low, high};
}

std::optional<Interval> factor_of(const std::string& crop) {
    for (const crops::Text& text : crops::texts()) {
        auto document = TomlDocument::parse(text.content, std::string{text.name});
        if (!document)
            throw BrokenInvariant(document.error().message());
        TomlTable facts = document->root();
        if (text.name == crop || facts.text("name") == crop)
            return factor_of(facts);
    }
    return std::nullopt;
}

} // namespace

LotSize lot_size(const droplog::Header& header) {
    const std::string* const crop = header.find("crop");
    const auto mass_mg = header.number("thousand_seed_mass_mg");
    if (crop == nullptr || crop->empty())
        return {std::nullopt, "the log states no crop"};
    if (!mass_mg || *mass_mg <= 0)
        return {std::nullopt, "the log states no thousand-seed mass"};
    const auto factor = factor_of(*crop);
    if (!factor)
        return {std::nullopt, fmt::format("no mass and size of '{}' are known together", *crop)};
    const double mass_g = static_cast<double>(*mass_mg) / 1000.0;
    const Interval mm{factor->low * std::cbrt(mass_g), factor->high * std::cbrt(mass_g)};
    return {mm, fmt::format("about {:.1f} to {:.1f} mm, by a thousand-seed mass of {:g} g of {} "
                            "(size grows with the cube "
                            "root of mass)",
                            mm.low, mm.high, mass_g, *crop)};
}

SizeFit size_fit(const Interval& holds_for_mm, const LotSize& lot) {
    if (!lot.mm)
        return SizeFit::unknown;
    if (lot.mm->high < holds_for_mm.low || lot.mm->low > holds_for_mm.high)
        return SizeFit::outside;
    const bool inside = lot.mm->low >= holds_for_mm.low && lot.mm->high <= holds_for_mm.high;
    return inside ? SizeFit::inside : SizeFit::partly;
}

} // namespace dropledger::calibration
