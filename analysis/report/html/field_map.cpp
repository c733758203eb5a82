#include "analysis/report/html/field_map.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "analysis/report/text/field_words.hpp"
#include "analysis/report/words/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

namespace dropledger::report::field {

using namespace dropledger::field;
using pictures::escaped;

namespace {

constexpr std::size_t most_gaps = 4000; // the longest ones
constexpr std::size_t most_alerts = 4000;
constexpr std::size_t most_stops = 400;
constexpr std::int64_t least_drops = 2; // a single silent drop is too small to be seen

// Metres east and south of a field's north-west corner.
class Plane {
public:
    Plane(const FieldPart& part, bool geographic) : low_(part.low), high_(part.high) {
        if (!geographic)
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
    Place low_;
    Place high_;
    double x_scale_ = 1.0;
    double y_scale_ = 1.0;
};

class MapOfField {
public:
    MapOfField(const FieldAudit& audit, const FieldPart& part, const std::set<std::int64_t>& passes)
        : audit_(&audit), part_(&part), passes_(&passes), plane_(part, audit.field.geographic) {}

    [[nodiscard]] std::string markup(std::size_t number) const {
        const double reach = std::max({plane_.width(), plane_.height(), 1.0});
        const double margin = 0.04 * reach;
        // Neither a thread nor a tower: a narrow field gets room at its sides.
        const double width = std::max(plane_.width() + 2.0 * margin, 0.55 * reach);
        const double height = std::max(plane_.height() + 2.0 * margin, 0.55 * reach);
        const double bar = round_length(width / 4.0);
        std::string text = buttons(number);
        text += fmt::format(
            "<div class=\"map\"><div class=\"sheet\"><svg class=\"ground\" role=\"img\" "
            "aria-label=\"Map of field {}: "
            "passes, gaps and alerts; north is up\" viewBox=\"{:.2f} {:.2f} {:.2f} {:.2f}\" "
            "style=\"--k:{:.4f};aspect-ratio:{:.3f}\">\n",
            part_->number, (plane_.width() - width) / 2.0, (plane_.height() - height) / 2.0, width,
            height, width / 700.0, width / height);
        text += lines() + gaps() + alerts() + stops();
        text += "<g class=\"found mark\" visibility=\"hidden\"><circle class=\"ring\" "
                "r=\"14\"/></g></svg>\n";
        text += "<svg class=\"north\" viewBox=\"0 0 26 40\" aria-label=\"north is up\"><path "
                "d=\"M13 1L21 26L13 20L5 26z\"/><text x=\"13\" y=\"39\" "
                "text-anchor=\"middle\">N</text></svg>\n";
        return text + fmt::format("<div class=\"scale\" style=\"width:{:.2f}%\"><span>{} "
                                  "m</span></div></div>\n<output></output></div>\n",
                                  100.0 * bar / width,
                                  bar < 1.0 ? fmt::format("{}", bar) : grouped(bar, 0));
    }

private:
    [[nodiscard]] static double round_length(double metres) {
        const double power = std::pow(10.0, std::floor(std::log10(metres)));
        return metres >= 5.0 * power ? 5.0 * power : metres >= 2.0 * power ? 2.0 * power : power;
    }

    [[nodiscard]] static std::string buttons(std::size_t number) {
        std::string text = "<p class=\"find\">";
        const auto add = [&](std::string_view zoom, std::string_view name, std::string_view sign) {
            text += fmt::format("<button type=\"button\" hidden=\"hidden\" data-map=\"{}\" "
                                "data-zoom=\"{}\" aria-label=\"{}\">{}</button> ",
                                number, zoom, name, sign);
        };
        add("0.5", "closer", "+");
        add("2", "further", "\xE2\x88\x92");
        add("0", "all of the field", "all");
        return text + "</p>\n";
    }

    [[nodiscard]] bool is_here(const LineKey& key) const { return passes_->contains(key.pass); }

    [[nodiscard]] std::string where(const LineKey& key) const {
        return fmt::format("pass {}, row {}", escaped(audit_->field.pass_name(key.pass)),
                           escaped(audit_->field.row_name(key.row)));
    }

    [[nodiscard]] std::string lines() const {
        std::string text;
        for (const LineReport& line : audit_->lines) {
            if (!is_here(line.key))
                continue;
            std::string path;
            for (const Place& at : line.outline)
                path += (path.empty() ? "M" : "L") + plane_.point(at);
            text += fmt::format("<path class=\"pass\" d=\"{}\" data-p=\"{}\" data-r=\"{}\" "
                                "data-a=\"{}\" data-z=\"{}\"><title>{}: {} of {} drops "
                                "silent</title></path>\n",
                                path, escaped(audit_->field.pass_name(line.key.pass)),
                                escaped(audit_->field.row_name(line.key.row)), line.first_drop,
                                line.last_drop, where(line.key), grouped(line.silent),
                                grouped(line.drops));
        }
        return text;
    }

    [[nodiscard]] std::string ends(const Place& from, const Place& to) const {
        return fmt::format("data-at=\"{} {}\"", plane_.point(from), plane_.point(to));
    }

    [[nodiscard]] std::string gap_mark(const Gap& gap) const {
        const auto judgement = judged(gap.missing);
        const std::string path =
            fmt::format("M{}L{}", plane_.point(gap.from), plane_.point(gap.to));
        std::string text;
        if (judgement == Judgement::unknown) // a dark case, so that it stands out in grey
            text += fmt::format("<path class=\"gap case\" d=\"{}\"/>", path);
        return text + fmt::format("<path class=\"gap {}\" d=\"{}\" {}><title>{}, drops {} to {}: "
                                  "{:.2f} m, {}</title></path>\n",
                                  name_of(judgement), path, ends(gap.from, gap.to), where(gap.key),
                                  gap.first_drop, gap.last_drop, gap.length_m,
                                  judgement_words(judgement));
    }

    [[nodiscard]] std::string gaps() const {
        std::vector<const Gap*> shown;
        for (const Gap& gap : audit_->gaps)
            if (gap.drops() >= least_drops && is_here(gap.key))
                shown.push_back(&gap);
        std::stable_sort(shown.begin(), shown.end(),
                         [](const Gap* a, const Gap* b) { return a->length_m > b->length_m; });
        shown.resize(std::min(shown.size(), most_gaps));
        std::string text;
        for (const Gap* const gap : shown)
            text += gap_mark(*gap);
        return text;
    }

    [[nodiscard]] std::string alerts() const {
        std::string text;
        std::size_t count = 0;
        for (const Alert& alert : audit_->alerts) {
            if (!is_here(alert.key) || ++count > most_alerts)
                continue;
            const auto judgement = judged(alert.missing);
            text += fmt::format(
                "<g class=\"mark\" style=\"transform:translate({:.2f}px,{:.2f}px) "
                "scale(var(--k))\" {}><use href=\"#alert-{}\"/><title>alert at {}, drop {}: "
                "{}</title></g>\n",
                plane_.x(alert.at), plane_.y(alert.at), ends(alert.at, alert.at),
                name_of(judgement), where(alert.key), alert.drop, judgement_words(judgement));
        }
        return text;
    }

    [[nodiscard]] std::string stops() const {
        std::string text;
        for (std::size_t i = 0; i < std::min(most_stops, audit_->walk.stops.size()); ++i) {
            const Gap& gap = audit_->gaps[audit_->walk.stops[i]];
            if (!is_here(gap.key))
                continue;
            text += fmt::format(
                "<g class=\"mark stop\" style=\"transform:translate({:.2f}px,{:.2f}px) "
                "scale(var(--k))\" {}><circle r=\"10\"/><text y=\"4\">{}</text><title>{}. {}, "
                "drops {} to {}: {:.2f} m, {}</title></g>\n",
                plane_.x(gap.from), plane_.y(gap.from), ends(gap.from, gap.from), i + 1, i + 1,
                where(gap.key), gap.first_drop, gap.last_drop, gap.length_m,
                judgement_words(judged(gap.missing)));
        }
        return text;
    }

    const FieldAudit* audit_;
    const FieldPart* part_;
    const std::set<std::int64_t>* passes_;
    Plane plane_;
};

constexpr std::string_view symbols =
    R"svg(<svg width="0" height="0" style="position:absolute" aria-hidden="true"><defs>
<g id="alert-missing"><path class="m-missing" d="M-5-5L5 5M-5 5L5-5"/></g>
<g id="alert-sensor"><circle class="m-sensor" r="5"/></g>
<g id="alert-unknown"><path class="m-unknown" d="M0-6L6 5H-6z"/></g></defs></svg>
)svg";

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
    text += key_entry("<path class=\"gap case\" d=\"M-12 0H12\"/><path class=\"gap unknown\" "
                      "d=\"M-12 0H12\"/>",
                      "gap: can't tell");
    text += key_entry("<g class=\"stop\"><circle r=\"8\"/><text y=\"4\">7</text></g>",
                      "stop of the walk");
    return text + key_entry("<path class=\"pass\" d=\"M-12 0H12\"/>", "row of a pass") + "</p>\n";
}

std::string find_form() {
    return "<form class=\"find\" hidden=\"hidden\"><label>pass <input name=\"p\" /></label> "
           "<label>row <input name=\"r\" /></label> <label>drop <input name=\"d\" "
           "inputmode=\"numeric\" /></label> <button>find</button> <output></output></form>\n";
}

// Which passes lie in which part: by its corners, for parts do not overlap.
std::vector<std::set<std::int64_t>> passes_of_parts(const FieldAudit& audit) {
    std::vector<std::set<std::int64_t>> passes(audit.parts.size());
    for (const LineReport& line : audit.lines)
        if (const auto part = audit.part_of.find(line.key.pass); part != audit.part_of.end())
            passes[part->second].insert(line.key.pass);
    return passes;
}

} // namespace

std::string map_markup(const FieldAudit& audit) {
    std::string text = std::string(symbols) + keys() + find_form();
    const auto passes = passes_of_parts(audit);
    for (std::size_t i = 0; i < audit.parts.size(); ++i) {
        const FieldPart& part = audit.parts[i];
        if (audit.parts.size() > 1)
            text += fmt::format("<h3>Field {}{}, {}</h3>\n", part.number,
                                part.name.empty() ? "" : " (" + escaped(part.name) + ")",
                                place_words(audit, part.middle()));
        text += MapOfField(audit, part, passes[i]).markup(i);
    }
    return text + "<p class=\"cap\">North is up. Tap a mark to read its pass, row and drop; two "
                  "fingers zoom. Gaps of a single drop are not drawn.</p>\n";
}

} // namespace dropledger::report::field
