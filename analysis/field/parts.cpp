#include "analysis/field/parts.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

namespace dropledger::field {

namespace {

struct Box {
    Place low;
    Place high;

    void take(const Place& at) {
        low = {std::min(low.x, at.x), std::min(low.y, at.y)};
        high = {std::max(high.x, at.x), std::max(high.y, at.y)};
    }
};

struct PassBox {
    std::int64_t pass = 0;
    std::string field; // where the input says
    Box box;
    std::vector<Place> way; // of one of its rows
};

std::string name_of_field(const FieldAudit& audit, std::int64_t pass) {
    const auto found = audit.field.field_of.find(pass);
    return found == audit.field.field_of.end() ? std::string{} : found->second;
}

std::vector<PassBox> boxes_of(const FieldAudit& audit) {
    std::vector<PassBox> boxes;
    for (const LineReport& line : audit.lines) { // by pass
        if (boxes.empty() || boxes.back().pass != line.key.pass)
            boxes.push_back({line.key.pass,
                             name_of_field(audit, line.key.pass),
                             {line.outline.front(), line.outline.front()},
                             line.outline});
        for (const Place& at : line.outline)
            boxes.back().box.take(at);
    }
    return boxes;
}

// Metres to what places are given in, near that place.
Place reach_at(const Place& at, bool geographic) {
    if (!geographic)
        return {reach_m, reach_m};
    constexpr double metres_per_degree = 111'195.0; // of a sphere of 6371 km: a reach needs no more
    const double shrink = std::max(0.01, std::cos(at.y * std::numbers::pi / 180.0));
    return {reach_m / metres_per_degree / shrink, reach_m / metres_per_degree};
}

bool meet(const Box& a, const Box& b, const Place& reach) {
    return a.low.x - reach.x <= b.high.x + reach.x && b.low.x - reach.x <= a.high.x + reach.x &&
           a.low.y - reach.y <= b.high.y + reach.y && b.low.y - reach.y <= a.high.y + reach.y;
}

// Metres east and north of a corner, flat.
class Plane {
public:
    Plane(const Place& corner, bool geographic) : corner_(corner) {
        const Place reach = reach_at(corner, geographic);
        scale_ = {reach_m / reach.x, reach_m / reach.y};
    }
    [[nodiscard]] Place operator()(const Place& at) const {
        return {(at.x - corner_.x) * scale_.x, (at.y - corner_.y) * scale_.y};
    }

private:
    Place corner_;
    Place scale_;
};

double from_stretch(const Place& p, const Place& a, const Place& b) {
    const double x = b.x - a.x;
    const double y = b.y - a.y;
    const double length = x * x + y * y;
    const double along =
        length > 0.0 ? std::clamp(((p.x - a.x) * x + (p.y - a.y) * y) / length, 0.0, 1.0) : 0.0;
    return std::hypot(p.x - a.x - along * x, p.y - a.y - along * y);
}

double turn(const Place& a, const Place& b, const Place& c) {
    return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

bool cross(const Place& a, const Place& b, const Place& c, const Place& d) {
    return turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0;
}

// Whether two ways come within twice the reach of each other.
bool near(const PassBox& one, const PassBox& other, bool geographic) {
    const Plane plane(one.box.low, geographic);
    for (std::size_t i = 1; i < one.way.size(); ++i) {
        const Place a = plane(one.way[i - 1]);
        const Place b = plane(one.way[i]);
        for (std::size_t j = 1; j < other.way.size(); ++j) {
            const Place c = plane(other.way[j - 1]);
            const Place d = plane(other.way[j]);
            if (cross(a, b, c, d) ||
                std::min({from_stretch(a, c, d), from_stretch(b, c, d), from_stretch(c, a, b),
                          from_stretch(d, a, b)}) <= 2.0 * reach_m)
                return true;
        }
    }
    return one.way.size() < 2 || other.way.size() < 2;
}

class Groups {
public:
    explicit Groups(std::size_t count) : parent_(count) {
        std::iota(parent_.begin(), parent_.end(), std::size_t{0});
    }

    [[nodiscard]] std::size_t of(std::size_t i) {
        while (parent_[i] != i)
            i = parent_[i] = parent_[parent_[i]];
        return i;
    }
    void join(std::size_t a, std::size_t b) {
        parent_[std::max(of(a), of(b))] = std::min(of(a), of(b));
    }

private:
    std::vector<std::size_t> parent_; // the least of a group is its root
};

// Part number, from 0, of each pass.
std::map<std::int64_t, std::size_t> part_by_pass(const FieldAudit& audit) {
    const std::vector<PassBox> boxes = boxes_of(audit);
    Groups groups(boxes.size());
    for (std::size_t i = 0; i < boxes.size(); ++i) {
        const Place reach = reach_at(boxes[i].box.low, audit.field.geographic);
        for (std::size_t j = i + 1; j < boxes.size(); ++j)
            if (boxes[i].field.empty() && boxes[j].field.empty()
                    ? meet(boxes[i].box, boxes[j].box, reach) && groups.of(i) != groups.of(j) &&
                          near(boxes[i], boxes[j], audit.field.geographic)
                    : boxes[i].field == boxes[j].field)
                groups.join(i, j);
    }
    std::map<std::size_t, std::size_t> number;
    std::map<std::int64_t, std::size_t> parts;
    for (std::size_t i = 0; i < boxes.size(); ++i)
        parts[boxes[i].pass] = number.emplace(groups.of(i), number.size()).first->second;
    return parts;
}

void add_line(const LineReport& line, FieldPart& part) {
    if (part.passes == 0) {
        part.first_pass = line.key.pass;
        part.low = part.high = line.outline.front();
    }
    for (const Place& at : line.outline) {
        part.low = {std::min(part.low.x, at.x), std::min(part.low.y, at.y)};
        part.high = {std::max(part.high.x, at.x), std::max(part.high.y, at.y)};
    }
    if (part.passes == 0 || part.last_pass != line.key.pass)
        ++part.passes;
    part.last_pass = line.key.pass;
    part.drops += line.drops;
    part.silent += line.silent;
    part.gaps += line.gaps;
    part.alerts += line.alerts;
    part.seeds_commanded += line.seeds_commanded;
    part.seeds_lost_low += line.seeds_lost_low;
    part.seeds_lost_high += line.seeds_lost_high;
}

std::vector<std::int64_t> worst_of(const std::map<std::int64_t, double>& lost_by_row) {
    constexpr std::size_t most = 3;
    std::vector<std::int64_t> rows;
    for (const auto& [row, lost] : lost_by_row)
        if (lost >= 1.0)
            rows.push_back(row);
    std::stable_sort(rows.begin(), rows.end(), [&](std::int64_t a, std::int64_t b) {
        return lost_by_row.at(a) > lost_by_row.at(b);
    });
    rows.resize(std::min(rows.size(), most));
    return rows;
}

} // namespace

void add_parts(FieldAudit& audit) {
    audit.part_of = part_by_pass(audit);
    const auto& part_of = audit.part_of;
    std::vector<FieldPart>& parts = audit.parts;
    std::vector<std::map<std::int64_t, double>> lost;
    for (const LineReport& line : audit.lines) {
        const std::size_t at = part_of.at(line.key.pass);
        if (at >= parts.size()) {
            parts.resize(at + 1);
            lost.resize(at + 1);
            parts[at].number = static_cast<std::int64_t>(at) + 1;
            parts[at].name = name_of_field(audit, line.key.pass);
        }
        add_line(line, parts[at]);
        lost[at][line.key.row] += line.seeds_lost_low;
    }
    for (const Gap& gap : audit.gaps)
        if (audit.worth_reseeding(gap)) {
            FieldPart& part = parts[part_of.at(gap.key.pass)];
            ++part.reseed_gaps;
            part.reseed_m += gap.length_m;
            if (const auto gain = audit.net_gain(gap))
                part.net_gain = part.net_gain.value_or(0.0) + *gain;
        }
    for (std::size_t i = 0; i < parts.size(); ++i)
        parts[i].worst_rows = worst_of(lost[i]);
}

} // namespace dropledger::field
