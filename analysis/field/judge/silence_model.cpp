#include "analysis/field/judge/silence_model.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace dropledger::field {

namespace {

constexpr int most_rounds = 15;
constexpr double needed_gain = 6.2; // beyond chance: e^-6.2 is 1 in 500 rows

struct Sums {
    double log_likelihood = 0.0;
    double out = 0.0; // expected drops in outages …
    double out_silent = 0.0;
    double steady_left = 0.0; // expected steps out of the steady state …
    double out_left = 0.0;    // … and out of an outage
    double steady_steps = 0.0;
    double out_steps = 0.0;
    double began_out = 0.0;
};

using Pair = std::array<double, 2>; // steady, out

// Silent share of each drop of a pass in the steady state; those that stand apart have none.
std::vector<float> steady_shares(const Course& course, const Pieces& pieces, std::size_t pass) {
    constexpr float at_start = 0.9F;
    constexpr float at_cell = 0.8F;
    constexpr double least = 0.002; // a row's own few silent drops tell no less
    const PassCourse& one = course.passes[pass];
    const auto floor = static_cast<float>(std::clamp(pieces.share, least, 0.02));
    std::vector<float> shares = pieces.along(pass, one.size());
    for (std::size_t i = 0; i < shares.size(); ++i) {
        shares[i] = std::max(shares[i], floor);
        if (one.apart_at(i) == Apart::start)
            shares[i] = at_start;
        if (one.apart_at(i) == Apart::cell)
            shares[i] = at_cell;
    }
    return shares;
}

// Forward and backward recursion of one pass; adds to the sums, gives P(out) of each drop.
class Recursion {
public:
    explicit Recursion(const SilenceModel& model) : model_(&model) {}

    void run(const PassCourse& pass, const std::vector<float>& shares, Sums& sums,
             std::vector<float>& out) {
        out.resize(pass.size());
        if (pass.size() == 0)
            return;
        forward(pass, shares, sums);
        backward(pass, shares, sums, out);
        sums.began_out += static_cast<double>(out.front());
    }

private:
    [[nodiscard]] Pair emission(std::uint8_t silent, float share) const {
        const double out = model_->silent_when_out;
        const auto steady = static_cast<double>(share);
        return silent != 0 ? Pair{steady, out} : Pair{1.0 - steady, 1.0 - out};
    }

    void forward(const PassCourse& pass, const std::vector<float>& shares, Sums& sums) {
        alpha_.resize(pass.size());
        scale_.resize(pass.size());
        Pair prior{1.0 - model_->begin_out, model_->begin_out};
        double likelihood = 1.0; // of the drops since its logarithm was last taken, which costs
                                 // more than all the rest
        for (std::size_t i = 0; i < pass.size(); ++i) {
            const Pair seen = emission(pass.silent[i], shares[i]);
            const Pair joint{prior[0] * seen[0], prior[1] * seen[1]};
            scale_[i] = std::max(joint[0] + joint[1], 1e-100);
            alpha_[i] = {joint[0] / scale_[i], joint[1] / scale_[i]};
            const double moved = alpha_[i][0] * model_->enter;
            const double back = alpha_[i][1] * model_->leave;
            prior = {alpha_[i][0] - moved + back, alpha_[i][1] - back + moved};
            likelihood *= scale_[i];
            if (likelihood < 1e-150) {
                sums.log_likelihood += std::log(likelihood);
                likelihood = 1.0;
            }
        }
        sums.log_likelihood += std::log(likelihood);
    }

    void backward(const PassCourse& pass, const std::vector<float>& shares, Sums& sums,
                  std::vector<float>& out) const {
        Pair beta{1.0, 1.0};
        for (std::size_t i = pass.size(); i-- > 0;) {
            const double steady = alpha_[i][0] * beta[0];
            const double outage = alpha_[i][1] * beta[1];
            const double p_out = outage / (steady + outage);
            out[i] = static_cast<float>(p_out);
            sums.out += p_out;
            sums.out_silent += pass.silent[i] != 0 ? p_out : 0.0;
            if (i == 0)
                return;
            const Pair seen = emission(pass.silent[i], shares[i]);
            const Pair ahead{seen[0] * beta[0] / scale_[i], seen[1] * beta[1] / scale_[i]};
            const double left = alpha_[i - 1][0] * model_->enter * ahead[1];
            const double back = alpha_[i - 1][1] * model_->leave * ahead[0];
            const double stayed = alpha_[i - 1][0] * (1.0 - model_->enter) * ahead[0];
            const double lasted = alpha_[i - 1][1] * (1.0 - model_->leave) * ahead[1];
            sums.steady_left += left;
            sums.out_left += back;
            sums.steady_steps += left + stayed;
            sums.out_steps += back + lasted;
            beta = {(1.0 - model_->enter) * ahead[0] + model_->enter * ahead[1],
                    (1.0 - model_->leave) * ahead[1] + model_->leave * ahead[0]};
        }
    }

    const SilenceModel* model_;
    std::vector<Pair> alpha_;
    std::vector<double> scale_;
};

// Prior counts: outages are rare (once in 1000 drops), last some ten drops and are silent nearly
// throughout, unless the row says otherwise.
void update(SilenceModel& model, const Sums& sums, double passes) {
    model.enter = std::clamp((sums.steady_left + 0.5) / (sums.steady_steps + 500.0), 1e-7, 0.2);
    model.leave = std::clamp((sums.out_left + 1.0) / (sums.out_steps + 10.0), 1e-6,
                             1.0 / SilenceModel::shortest_mean_outage);
    model.begin_out = std::clamp((sums.began_out + 0.05) / (passes + 1.0), 1e-4, 0.99);
    model.silent_when_out = std::clamp((sums.out_silent + 49.0) / (sums.out + 50.0), 0.85, 0.995);
}

SilenceModel fitted(const Course& course, const Pieces& pieces) {
    SilenceModel model;
    std::vector<float> out;
    double before = -1e300;
    for (int round = 0; round < most_rounds; ++round) {
        Sums sums;
        Recursion recursion(model);
        for (std::size_t p = 0; p < course.passes.size(); ++p)
            recursion.run(course.passes[p], steady_shares(course, pieces, p), sums, out);
        if (sums.log_likelihood - before < 0.05)
            break;
        before = sums.log_likelihood;
        update(model, sums, static_cast<double>(course.passes.size()));
    }
    return model;
}

// Whether some run of silent drops is too long for the drops around it; where none is there is
// nothing to fit.
bool has_long_run(const Course& course, const Pieces& pieces) {
    const double paid = std::log(static_cast<double>(std::max<std::int64_t>(2, course.drops)));
    for (std::size_t p = 0; p < course.passes.size(); ++p) {
        const PassCourse& pass = course.passes[p];
        const std::vector<float> shares = steady_shares(course, pieces, p);
        double gain = 0.0;
        for (std::size_t i = 0; i < pass.size(); ++i) {
            gain = pass.silent[i] == 0 ? 0.0 : gain - std::log(static_cast<double>(shares[i]));
            if (gain > 0.6 * paid)
                return true;
        }
    }
    return false;
}

double gain_of(const PassCourse& pass, const std::vector<float>& shares, const Outage& outage,
               double silent_when_out) {
    double gain = 0.0;
    for (std::size_t i = outage.begin; i < outage.end; ++i) {
        const auto share = static_cast<double>(shares[i]);
        gain += pass.silent[i] != 0 ? std::log(silent_when_out / share)
                                    : std::log((1.0 - silent_when_out) / (1.0 - share));
    }
    return gain;
}

// Without the drops at both ends that were seen, and its silent ones counted.
Outage trimmed(Outage outage, const PassCourse& pass) {
    while (outage.begin < outage.end && pass.silent[outage.begin] == 0)
        ++outage.begin;
    while (outage.end > outage.begin && pass.silent[outage.end - 1] == 0)
        --outage.end;
    for (std::size_t i = outage.begin; i < outage.end; ++i)
        outage.silent += pass.silent[i];
    return outage;
}

void add_outages(const PassCourse& pass, std::size_t number, const std::vector<float>& out,
                 std::vector<Outage>& found) {
    const auto is_out = [](float share) { return share > 0.5F; };
    const auto at = [&](auto place) { return static_cast<std::size_t>(place - out.begin()); };
    const auto end = out.begin() + static_cast<std::ptrdiff_t>(pass.size());
    for (auto begin = std::find_if(out.begin(), end, is_out); begin != end;) {
        const auto behind = std::find_if_not(begin, end, is_out);
        const Outage outage = trimmed({number, at(begin), at(behind), 0}, pass);
        if (outage.silent > 0)
            found.push_back(outage);
        begin = std::find_if(behind, end, is_out);
    }
}

} // namespace

SilenceFit fit_silence(const Course& course, const Pieces& pieces) {
    SilenceFit fit;
    if (!has_long_run(course, pieces))
        return fit;
    fit.model = fitted(course, pieces);
    const double paid =
        needed_gain + std::log(static_cast<double>(std::max<std::int64_t>(2, course.drops)));
    Recursion recursion(fit.model);
    std::vector<float> out;
    for (std::size_t p = 0; p < course.passes.size(); ++p) {
        const std::vector<float> shares = steady_shares(course, pieces, p);
        Sums sums;
        recursion.run(course.passes[p], shares, sums, out);
        std::vector<Outage> found;
        add_outages(course.passes[p], p, out, found);
        for (const Outage& one : found)
            if (gain_of(course.passes[p], shares, one, fit.model.silent_when_out) > paid)
                fit.outages.push_back(one);
    }
    return fit;
}

} // namespace dropledger::field
