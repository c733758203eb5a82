#include "analysis/field/judge/background.hpp"

#include <algorithm>
#include <cmath>

namespace dropledger::field {

namespace {

constexpr std::size_t drops_of_piece = 100;

void count(const PassCourse& pass, Piece& piece) {
    bool before_silent = false;
    for (std::size_t i = piece.begin; i-- > 0;)
        if (pass.apart_at(i) == Apart::no) {
            before_silent = pass.silent[i] != 0;
            break;
        }
    for (std::size_t i = piece.begin; i < piece.end; ++i) {
        if (pass.apart_at(i) != Apart::no)
            continue;
        piece.chances += before_silent ? 0.0 : 1.0;
        piece.onsets += !before_silent && pass.silent[i] != 0 ? 1.0 : 0.0;
        before_silent = pass.silent[i] != 0;
    }
}

std::vector<Piece> pieces_of(const Course& course) {
    std::vector<Piece> pieces;
    for (std::size_t p = 0; p < course.passes.size(); ++p) {
        const std::size_t size = course.passes[p].size();
        const std::size_t parts = std::max<std::size_t>(1, size / drops_of_piece);
        for (std::size_t k = 0; k < parts; ++k) {
            Piece piece;
            piece.pass = p;
            piece.begin = k * size / parts;
            piece.end = (k + 1) * size / parts;
            count(course.passes[p], piece);
            pieces.push_back(piece);
        }
    }
    return pieces;
}

// Each piece with its neighbours, the nearer the more, and with the row as a whole for a little.
void smooth(Pieces& pieces) {
    constexpr std::ptrdiff_t reach = 4;
    constexpr double weight_of_row = 15.0; // drops
    const auto size = static_cast<std::ptrdiff_t>(pieces.all.size());
    for (std::ptrdiff_t i = 0; i < size; ++i) {
        double chances = weight_of_row;
        double onsets = weight_of_row * pieces.share;
        for (std::ptrdiff_t j = std::max<std::ptrdiff_t>(0, i - reach);
             j <= std::min(size - 1, i + reach); ++j) {
            const double weight = 1.0 - static_cast<double>(std::abs(i - j)) / (reach + 1.0);
            chances += weight * pieces.all[static_cast<std::size_t>(j)].chances;
            onsets += weight * pieces.all[static_cast<std::size_t>(j)].onsets;
        }
        pieces.all[static_cast<std::size_t>(i)].share =
            std::clamp(onsets / chances, 1e-5, most_background);
    }
}

} // namespace

double Pieces::share_at(std::size_t pass, std::size_t at) const {
    const auto found = std::find_if(all.begin(), all.end(), [&](const Piece& piece) {
        return piece.pass == pass && piece.begin <= at && at < piece.end;
    });
    return found == all.end() ? share : found->share;
}

std::vector<float> Pieces::along(std::size_t pass, std::size_t drops) const {
    std::vector<float> shares(drops, static_cast<float>(share));
    const auto first = std::partition_point(all.begin(), all.end(),
                                            [&](const Piece& piece) { return piece.pass < pass; });
    for (auto piece = first; piece != all.end() && piece->pass == pass; ++piece)
        std::fill(shares.begin() + static_cast<std::ptrdiff_t>(piece->begin),
                  shares.begin() + static_cast<std::ptrdiff_t>(piece->end),
                  static_cast<float>(piece->share));
    return shares;
}

Pieces background_of(const Course& course) {
    Pieces pieces;
    pieces.all = pieces_of(course);
    double chances = 0.0;
    double onsets = 0.0;
    for (const Piece& piece : pieces.all) {
        chances += piece.chances;
        onsets += piece.onsets;
    }
    pieces.share = chances > 0.0
                       ? std::clamp((onsets + 0.3) / (chances + 1.0), 1e-5, most_background)
                       : most_background;
    smooth(pieces);
    std::vector<double> shares;
    for (const Piece& piece : pieces.all)
        if (piece.chances >= 10.0)
            shares.push_back(piece.share);
    std::sort(shares.begin(), shares.end());
    pieces.quiet = shares.empty() ? pieces.share : shares[shares.size() / 5];
    return pieces;
}

} // namespace dropledger::field
