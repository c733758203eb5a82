#include "analysis/report/html/field_map.hpp"

#include "analysis/report/html/parts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace dropledger::report::field {

using namespace dropledger::field;

namespace {

constexpr std::size_t most_gaps = 4000; // the longest ones
constexpr std::size_t most_alerts = 4000;
constexpr std::int64_t least_drops = 2; // a single silent drop is too small to be seen

// Metres east and south of the north-west corner.
class Plane {
public:
    explicit Plane(const FieldAudit& audit) : geographic_(audit.field.geographic) {
        low_ = high_ = audit.lines.front().outline.front();
        for (const LineReport& line : audit.lines)
            for (const Place& at : line.outline) {
                low_ = {std::min(low_.x, at.x), std::min(low_.y, at.y)};
                high_ = {std::max(high_.x, at.x), std::max(high_.y, at.y)};
            }
        if (!geographic_)
            return;
        constexpr double metres_per_degree =
            111'195.0; // of a sphere of 6371 km: a map needs no more
        y_scale_ = metres_per_degree;
        x_scale_ =
            metres_per_degree * std::cos((low_.y + high_.y) / 2.0 * std::numbers::pi / 180.0);
    }

    [[nodiscard]] double x(const Place& at) const { return (at.x - low_.x) * x_scale_; }
    [[nodiscard]] double y(const Place& at) const { return (high_.y - at.y) * y_scale_; }
    [[nodiscard]] double width() const { return (high_.x - low_.x) * x_scale_; }
    [[nodiscard]] double height() const { return (high_.y - low_.y) * y_scale_; }
    [[nodiscard]] std::string point(const Place& at) const {
        return fmt::format("{:.2f} {:.2f}", x(at), y(at));
    }

private:
    bool geographic_;
    Place low_;
    Place high_;
    double x_scale_ = 1.0;
    double y_scale_ = 1.0;
};

std::string passes(const FieldAudit& audit, const Plane& plane) {
    std::string text;
    for (const LineReport& line : audit.lines) {
        std::string path;
        for (const Place& at : line.outline)
            path += (path.empty() ? "M" : "L") + plane.point(at);
        const auto& drops = audit.field.lines.at(line.key);
        text += fmt::format(
            "<path class=\"pass\" d=\"{}\" data-p=\"{}\" data-r=\"{}\" data-a=\"{}\" data-z=\"{}\">"
            "<title>pass {}, row {}: {} of {} drops silent</title></path>\n",
            path, line.key.pass, line.key.row, drops.front().drop, drops.back().drop, line.key.pass,
            line.key.row, line.silent, line.drops);
    }
    return text;
}

std::string_view words_of(Judgement judgement) {
    switch (judgement) {
    case Judgement::missing:
        return "seed missing";
    case Judgement::sensor:
        return "sensor missed it";
    case Judgement::unknown:
        return "can't tell";
    }
    throw BrokenInvariant("a judgement without words");
}

std::string gaps(const FieldAudit& audit, const Plane& plane) {
    std::vector<const Gap*> shown;
    for (const Gap& gap : audit.gaps)
        if (gap.drops() >= least_drops)
            shown.push_back(&gap);
    std::stable_sort(shown.begin(), shown.end(),
                     [](const Gap* a, const Gap* b) { return a->length_m > b->length_m; });
    shown.resize(std::min(shown.size(), most_gaps));
    std::string text;
    for (const Gap* const gap : shown)
        text += fmt::format("<path class=\"gap {}\" d=\"M{}L{}\"><title>pass {}, row {}, drops {} "
                            "to {}: {:.2f} m, {}</title>"
                            "</path>\n",
                            name_of(judged(gap->missing)), plane.point(gap->from),
                            plane.point(gap->to), gap->key.pass, gap->key.row, gap->first_drop,
                            gap->last_drop, gap->length_m, words_of(judged(gap->missing)));
    return text;
}

std::string alerts(const FieldAudit& audit, const Plane& plane) {
    std::string text;
    for (std::size_t i = 0; i < std::min(audit.alerts.size(), most_alerts); ++i) {
        const Alert& alert = audit.alerts[i];
        const auto name = name_of(judged(alert.missing));
        text += fmt::format(
            "<g class=\"mark\" style=\"transform:translate({:.2f}px,{:.2f}px) scale(var(--k))\">"
            "<use href=\"#alert-{}\"/><title>pass {}, row {}, drop {}: {}</title></g>\n",
            plane.x(alert.at), plane.y(alert.at), name, alert.key.pass, alert.key.row, alert.drop,
            words_of(judged(alert.missing)));
    }
    return text;
}

double round_length(double metres) {
    const double power = std::pow(10.0, std::floor(std::log10(metres)));
    return metres >= 5.0 * power ? 5.0 * power : metres >= 2.0 * power ? 2.0 * power : power;
}

std::string key_entry(std::string_view mark, std::string_view words) {
    return fmt::format("<span class=\"key\"><svg width=\"26\" height=\"16\" viewBox=\"-13 -8 26 "
                       "16\" aria-hidden=\"true\">{}</svg>{}</span>\n",
                       mark, words);
}

std::string keys() {
    std::string text = "<p class=\"keys\">\n";
    text += key_entry("<use href=\"#alert-missing\"/>", "alert: seed missing");
    text += key_entry("<use href=\"#alert-sensor\"/>", "alert: sensor missed it");
    text += key_entry("<use href=\"#alert-unknown\"/>", "alert: can't tell");
    text += key_entry("<path class=\"gap missing\" d=\"M-12 0H12\"/>", "gap: seed missing");
    text += key_entry("<path class=\"gap sensor\" d=\"M-12 0H12\"/>", "gap: sensor missed it");
    text += key_entry("<path class=\"gap unknown\" d=\"M-12 0H12\"/>", "gap: can't tell");
    return text + key_entry("<path class=\"pass\" d=\"M-12 0H12\"/>", "row of a pass") + "</p>\n";
}

} // namespace

std::string map_markup(const FieldAudit& audit) {
    const Plane plane(audit);
    const double reach = std::max({plane.width(), plane.height(), 1.0});
    const double margin = 0.04 * reach;
    // Neither a thread nor a tower: a narrow field gets room at its sides.
    const double width = std::max(plane.width() + 2.0 * margin, 0.55 * reach);
    const double height = std::max(plane.height() + 2.0 * margin, 0.55 * reach);
    const double left = (plane.width() - width) / 2.0;
    const double top = (plane.height() - height) / 2.0;
    const double bar = round_length(width / 4.0);
    std::string text = keys();
    text += "<form class=\"find\" hidden=\"hidden\"><label>pass <input name=\"p\" "
            "inputmode=\"numeric\" /></label> "
            "<label>row <input name=\"r\" inputmode=\"numeric\" /></label> "
            "<label>drop <input name=\"d\" inputmode=\"numeric\" /></label> <button>find</button> "
            "<button type=\"button\" data-zoom=\"0.5\" aria-label=\"closer\">+</button> "
            "<button type=\"button\" data-zoom=\"2\" aria-label=\"further\">\xE2\x88\x92</button> "
            "<button type=\"button\" data-zoom=\"0\">all</button> <output></output></form>\n";
    text += fmt::format(
        "<div class=\"map\"><svg id=\"map\" role=\"img\" aria-label=\"Map of the passes, gaps and "
        "alerts; north is up\" "
        "viewBox=\"{:.2f} {:.2f} {:.2f} {:.2f}\" style=\"--k:{:.4f};aspect-ratio:{:.3f}\">\n",
        left, top, width, height, width / 700.0, width / height);
    text += html::part("map_symbols");
    text += passes(audit, plane) + gaps(audit, plane) + alerts(audit, plane);
    text += "<g id=\"found\" class=\"mark\" visibility=\"hidden\"><circle class=\"ring\" "
            "r=\"14\"/></g></svg>\n";
    text += fmt::format("<div class=\"scale\" style=\"width:{:.2f}%\" data-m=\"{}\"><span>{} "
                        "m</span></div></div>\n",
                        100.0 * bar / width, bar, bar);
    text += "<p class=\"cap\">North is up. Point at a mark, or tap it, to read its pass, row and "
            "drop. Gaps of a single drop are not "
            "drawn";
    if (audit.alerts.size() > most_alerts)
        text += fmt::format("; of {} alerts the first {} are", audit.alerts.size(), most_alerts);
    return text + ".</p>\n";
}

} // namespace dropledger::report::field
