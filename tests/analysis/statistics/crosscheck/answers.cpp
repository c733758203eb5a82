// Answers questions of crosscheck.py, one per line on standard input, with 17 digits each.
#include "analysis/base/text.hpp"
#include "analysis/statistics/basics/distributions.hpp"
#include "analysis/statistics/basics/moments.hpp"
#include "analysis/statistics/basics/normality.hpp"
#include "analysis/statistics/shares/comparison.hpp"
#include "analysis/statistics/shares/independence.hpp"
#include "analysis/statistics/shares/proportion.hpp"
#include "analysis/statistics/shares/row_share.hpp"
#include "analysis/statistics/trends/trend.hpp"
#include "analysis/statistics/values/dependent_intervals.hpp"
#include "analysis/statistics/values/dispersion.hpp"

#include <fmt/format.h>

#include <cmath>
#include <functional>
#include <iostream>
#include <map>
#include <string>
#include <vector>

namespace {

using namespace dropledger;
using namespace dropledger::statistics;
using Numbers = std::vector<double>;

std::int64_t whole(double value) {
    return std::llround(value);
}

Numbers ends(Interval interval) {
    return {interval.low, interval.high};
}

SeriesSums sums_of(const Numbers& in) {
    ScaleEnergies energies;
    for (const double value : in)
        energies.add(whole(value));
    return {.n = std::ssize(in),
            .squares = *sample_variance(in) * static_cast<double>(in.size() - 1),
            .scales = energies.scales()};
}

const std::map<std::string, std::function<Numbers(const Numbers&)>>& questions() {
    static const std::map<std::string, std::function<Numbers(const Numbers&)>> table{
        {"clopper_pearson",
         [](const Numbers& in) {
             return ends(clopper_pearson(whole(in[0]), whole(in[1]), Confidence{in[2]}));
         }},
        {"wilson",
         [](const Numbers& in) {
             return ends(wilson(whole(in[0]), whole(in[1]), Confidence{in[2]}));
         }},
        {"jeffreys",
         [](const Numbers& in) {
             return ends(jeffreys(whole(in[0]), whole(in[1]), Confidence{in[2]}));
         }},
        {"row_share", // entries in the order of the run, 1 a hit
         [](const Numbers& in) {
             RunCounter counter;
             for (const double hit : in)
                 counter.add(hit != 0.0);
             return ends(*row_share(counter.rows(), 1.0, Confidence{0.95})->interval);
         }},
        {"capped_row_share",
         [](const Numbers& in) {
             const CappedRows counts{whole(in[0]), whole(in[1]), whole(in[2]), whole(in[3])};
             return ends(*capped_row_share(counts, 1.0, Confidence{0.95})->interval);
         }},
        {"rows",
         [](const Numbers& in) {
             const auto test = rows_test({whole(in[0]), whole(in[1]), whole(in[2])});
             return Numbers{test->p_few, test->p_many};
         }},
        {"fisher",
         [](const Numbers& in) {
             return Numbers{
                 *fisher_exact_p({whole(in[0]), whole(in[1])}, {whole(in[2]), whole(in[3])})};
         }},
        {"dependent_mean", // whole numbers
         [](const Numbers& in) {
             return Numbers{MeanLaw{*Dependence::of(sums_of(in))}.half_width(Confidence{0.95})};
         }},
        {"slope", [](const Numbers& in) { return Numbers{SlopeLaw::of(in)->p_value()}; }},
        {"dispersion",
         [](const Numbers& in) {
             const auto found = index_of_dispersion({whole(in[0]), whole(in[1]), whole(in[2])});
             return Numbers{found->chi_squared, found->p_clustered};
         }},
        {"hypergeometric",
         [](const Numbers& in) {
             const HypergeometricLaw law{whole(in[1]), whole(in[2]), whole(in[3])};
             return Numbers{hypergeometric_cdf(whole(in[0]), law),
                            hypergeometric_sf(whole(in[0]), law)};
         }},
        {"noncentral_t",
         [](const Numbers& in) {
             return Numbers{noncentral_t_quantile(in[0], {in[1], in[2]})};
         }},
        {"anderson_darling",
         [](const Numbers& in) { return Numbers{anderson_darling(in)->a_squared}; }},
        {"poisson", [](const Numbers& in) { return Numbers{poisson_cdf(whole(in[0]), in[1])}; }},
    };
    return table;
}

} // namespace

int main() {
    for (std::string line; std::getline(std::cin, line);) {
        const auto fields = split(line, ' ');
        Numbers in;
        for (std::size_t i = 1; i < fields.size(); ++i)
            in.push_back(parse_double(fields[i]).value());
        std::string answer;
        for (const double number : questions().at(std::string(fields[0]))(in))
            answer += fmt::format("{:.17g} ", number);
        fmt::print("{}\n", answer);
    }
}
