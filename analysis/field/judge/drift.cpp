#include "analysis/field/judge/drift.hpp"

#include "analysis/statistics/basics/distributions.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace dropledger::field {

namespace {

bool touches(const Piece& piece, const Episode& episode) {
    const Spot first{piece.pass, piece.begin};
    const Spot last{piece.pass, piece.end - 1};
    const Spot from = episode.run_up > 0 ? episode.run_up_from : episode.first;
    return from <= last && first <= episode.last;
}

// A piece in which a burst stands still counts: a burst adds one silent drop behind a seen one.
bool left_out(const Piece& piece, const std::vector<Episode>& episodes) {
    return std::any_of(episodes.begin(), episodes.end(),
                       [&](const Episode& one) { return one.run_up > 0 && touches(piece, one); });
}

void close(std::vector<Length>& lengths, Length& now) {
    if (now.chances > 0.0)
        lengths.push_back(now);
    now = Length();
}

std::vector<Length> lengths_of(const Course& course, const Pieces& pieces,
                               const std::vector<Episode>& episodes) {
    constexpr double least_chances = 150.0;
    std::vector<Length> lengths;
    Length now;
    for (const Piece& piece : pieces.all) {
        if (left_out(piece, episodes))
            continue;
        if (now.chances == 0.0) {
            now.first = {piece.pass, piece.begin};
            now.first_key = course.passes[piece.pass].key;
        }
        now.last_key = course.passes[piece.pass].key;
        double onsets = piece.onsets;
        for (const Episode& one : episodes) // each begins with one
            onsets -= one.first >= Spot{piece.pass, piece.begin} &&
                              one.first < Spot{piece.pass, piece.end}
                          ? 1.0
                          : 0.0;
        now.chances += piece.chances;
        now.onsets += std::max(0.0, onsets);
        if (now.chances >= least_chances)
            close(lengths, now);
    }
    if (now.chances >= least_chances / 3.0)
        close(lengths, now);
    return lengths;
}

double heterogeneity_p(const std::vector<Length>& lengths, double share) {
    double chi_squared = 0.0;
    for (const Length& one : lengths) {
        const double expected = one.chances * share;
        chi_squared += (one.onsets - expected) * (one.onsets - expected) /
                       std::max(1e-9, expected * (1.0 - share));
    }
    return statistics::chi_squared_sf(chi_squared, static_cast<double>(lengths.size()) - 1.0);
}

// The greatest share of a length is beyond chance by itself: few expected counts void chi-square.
double greatest_p(const std::vector<Length>& lengths, double share) {
    double least = 1.0;
    for (const Length& one : lengths)
        least = std::min(least, statistics::binomial_sf(std::llround(one.onsets) - 1,
                                                        {std::llround(one.chances), share}));
    return std::min(1.0, least * static_cast<double>(lengths.size()));
}

double kendall(const std::vector<Length>& lengths) {
    double concordant = 0.0;
    double pairs = 0.0;
    const std::size_t step = std::max<std::size_t>(1, lengths.size() / 200);
    for (std::size_t i = 0; i < lengths.size(); i += step)
        for (std::size_t j = i + step; j < lengths.size(); j += step) {
            const double more = lengths[j].share() - lengths[i].share();
            concordant += more > 0.0 ? 1.0 : more < 0.0 ? -1.0 : 0.0;
            pairs += 1.0;
        }
    return pairs > 0.0 ? concordant / pairs : 0.0;
}

// The more silent lengths follow on each other, and are a fifth of the night at most.
bool is_short(const std::vector<Length>& lengths, double quiet) {
    const auto loud = [&](const Length& one) { return one.share() > 2.5 * quiet + 0.03; };
    const auto first = std::find_if(lengths.begin(), lengths.end(), loud);
    const auto behind = std::find_if_not(first, lengths.end(), loud);
    const auto count = static_cast<std::size_t>(behind - first);
    return lengths.size() >= 4 && count > 0 &&
           count <= std::max<std::size_t>(2, lengths.size() / 5) &&
           std::none_of(behind, lengths.end(), loud);
}

} // namespace

Drift drift_of(const Course& course, const Pieces& pieces, const std::vector<Episode>& episodes) {
    constexpr double beyond_chance = 1e-4;
    constexpr double least_change = 0.02;
    Drift drift;
    drift.lengths = lengths_of(course, pieces, episodes);
    if (drift.lengths.empty())
        return drift;
    double chances = 0.0;
    double onsets = 0.0;
    std::vector<double> shares;
    for (const Length& one : drift.lengths) {
        chances += one.chances;
        onsets += one.onsets;
        shares.push_back(one.share());
    }
    std::sort(shares.begin(), shares.end());
    drift.least = shares[shares.size() / 8]; // not the luckiest one
    drift.most = shares.back();
    drift.most_at =
        std::max_element(drift.lengths.begin(), drift.lengths.end(),
                         [](const Length& a, const Length& b) { return a.share() < b.share(); })
            ->first_key;
    const double share = std::clamp(onsets / chances, 1e-6, 1.0 - 1e-6);
    if (drift.lengths.size() < 2)
        return drift;
    drift.p_value = std::max(heterogeneity_p(drift.lengths, share),
                             share < 0.05 ? greatest_p(drift.lengths, share) : 0.0);
    drift.trend = kendall(drift.lengths);
    drift.changes = drift.p_value < beyond_chance && drift.most > 2.0 * drift.least &&
                    drift.most - drift.least > least_change;
    drift.short_rise = drift.changes && is_short(drift.lengths, drift.least);
    drift.late = drift.short_rise && drift.lengths.back().share() > 2.5 * drift.least + 0.03;
    return drift;
}

} // namespace dropledger::field
