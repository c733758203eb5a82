#include "analysis/report/pdf/curve.hpp"

#include "analysis/report/pictures/plot.hpp"
#include "analysis/sampling/double_plan.hpp"
#include "analysis/sampling/operating_characteristic.hpp"
#include "analysis/sampling/variables_plan.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dropledger::report::certificate {

namespace {

using pictures::Scale;

constexpr std::int64_t largest_batch = 10'000'000;
constexpr double hardly_accepted = 0.005;

bool makes_a_plan(const batch::Certificate& certificate) {
    const auto& plan = certificate.plan;
    return plan.n >= 1 && plan.n <= certificate.batch.size &&
           certificate.batch.size <= largest_batch && plan.reject >= 1 && plan.reject <= plan.n &&
           (!plan.samples || (batch::checked(*plan.samples) &&
                              plan.samples->n1 + plan.samples->n2 <= certificate.batch.size)) &&
           (!plan.measured || plan.k);
}

double chance_of_acceptance(const batch::Certificate& certificate, std::int64_t count) {
    const auto& plan = certificate.plan;
    const std::int64_t size = certificate.batch.size;
    if (plan.samples)
        return batch::double_point_of_lot(*plan.samples, size, count).accept_probability();
    if (!plan.measured)
        return batch::quality_point_of_lot({plan.n, plan.reject}, size, count).accept_probability;
    if (count == 0 || count == size)
        return count == 0 ? 1.0 : 0.0;
    return batch::accept_probability({plan.n, *plan.k},
                                     static_cast<double>(count) / static_cast<double>(size));
}

// The least count that is hardly ever accepted; all where every one may be.
std::int64_t last_count(const batch::Certificate& certificate) {
    std::int64_t too_few = 0;
    std::int64_t enough = certificate.batch.size;
    while (enough - too_few > 1) {
        const std::int64_t middle = too_few + (enough - too_few) / 2;
        (chance_of_acceptance(certificate, middle) <= hardly_accepted ? enough : too_few) = middle;
    }
    return enough;
}

// Whole counts of nonconforming units, from none to where hardly any such batch is accepted.
std::vector<batch::RiskPoint> points_of(const batch::Certificate& certificate) {
    const std::int64_t end = last_count(certificate);
    const std::int64_t step = std::max<std::int64_t>(1, end / 60);
    std::vector<batch::RiskPoint> points;
    for (std::int64_t count = 0; count <= end; count += step)
        points.push_back({static_cast<double>(count) / static_cast<double>(certificate.batch.size),
                          chance_of_acceptance(certificate, count)});
    return points;
}

class Picture {
public:
    Picture(Paper& paper, const CurvePlace& place, double most_share)
        : paper_(paper), area_{{place.corner.x + 30.0, place.corner.y + 14.0},
                               place.width - 34.0,
                               place.height - 40.0},
          share_{0.0, 100.0 * most_share} {}

    void axes() {
        const double floor = area_.corner.y + area_.height;
        const double end = area_.corner.x + area_.width;
        for (const auto& tick : pictures::ticks(share_, 6)) {
            const double x = spot(tick.value / 100.0, 0.0).x;
            paper_.line({x, floor}, {x, floor + 3.0}, 0.6);
            paper_.put(tick.label, small(x - 40.0, 44.0), floor + 4.0);
        }
        for (const double chance : {0.0, 0.5, 1.0}) {
            const double y = spot(0.0, chance).y;
            paper_.line({area_.corner.x, y}, {end, y}, chance == 0.0 ? 0.8 : 0.25);
            paper_.put(fmt::format("{:.0f} %", 100.0 * chance), small(area_.corner.x - 34.0, 31.0),
                       y - 4.5);
        }
        paper_.put(
            "nonconforming units in the batch, %",
            {.x = area_.corner.x, .width = area_.width, .type = Type::small, .align = Align::right},
            floor + 15.0);
        paper_.put("chance of acceptance",
                   {.x = area_.corner.x - 28.0, .width = 130.0, .type = Type::small},
                   area_.corner.y - 14.0);
    }

    [[nodiscard]] Spot spot(double share, double chance) const {
        return {area_.corner.x + area_.width * share_.percent(100.0 * share) / 100.0,
                area_.corner.y + area_.height * (1.0 - chance)};
    }

private:
    static TextBox small(double x, double width) {
        return {.x = x, .width = width, .type = Type::small, .align = Align::right};
    }

    Paper& paper_;
    CurvePlace area_;
    Scale share_;
};

} // namespace

bool draw_curve(Paper& paper, const batch::Certificate& certificate, const CurvePlace& place) {
    if (!makes_a_plan(certificate))
        return false;
    const auto points = points_of(certificate);
    if (points.size() < 2)
        return false;
    const double most = points.back().share;
    Picture picture(paper, place, most);
    picture.axes();
    std::vector<Spot> line;
    line.reserve(points.size());
    for (const auto& point : points)
        line.push_back(picture.spot(point.share, point.accept_probability));
    paper.path(line, 1.4);
    for (const auto& point : certificate.plan.risks)
        if (point.share >= 0.0 && point.share <= most && point.accept_probability >= 0.0 &&
            point.accept_probability <= 1.0)
            paper.ring(picture.spot(point.share, point.accept_probability), 2.2);
    return true;
}

} // namespace dropledger::report::certificate
