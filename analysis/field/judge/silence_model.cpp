#include "analysis/field/judge/silence_model.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace dropledger::field {

namespace {

constexpr int most_rounds = 30;
constexpr double highest_background = 0.8;

struct Sums {
    double log_likelihood = 0.0;
    double steady = 0.0;        // expected drops in the steady state
    double steady_silent = 0.0; // of them silent
    double steady_left = 0.0;   // expected steps out of it …
    double out_left = 0.0;      // … and out of an outage
    double steady_steps = 0.0;
    double out_steps = 0.0;
    double began_out = 0.0;
};

using Pair = std::array<double, 2>; // steady, out

// Forward and backward recursion of one pass; adds to the sums, gives P(out) of each drop.
class Recursion {
public:
    explicit Recursion(const SilenceModel& model) : model_(&model) {}

    void run(const Silence& pass, Sums& sums, std::vector<float>& out) {
        out.resize(pass.size());
        if (pass.empty())
            return;
        forward(pass, sums);
        backward(pass, sums, out);
        sums.began_out += static_cast<double>(out.front());
    }

private:
    [[nodiscard]] Pair emission(std::uint8_t silent) const {
        const double out = SilenceModel::silent_when_out;
        return silent != 0 ? Pair{model_->background, out}
                           : Pair{1.0 - model_->background, 1.0 - out};
    }

    void forward(const Silence& pass, Sums& sums) {
        alpha_.resize(pass.size());
        scale_.resize(pass.size());
        Pair prior{1.0 - model_->begin_out, model_->begin_out};
        double likelihood = 1.0; // of the drops since its logarithm was last taken, which costs
                                 // more than all the rest
        for (std::size_t i = 0; i < pass.size(); ++i) {
            const Pair seen = emission(pass[i]);
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

    void backward(const Silence& pass, Sums& sums, std::vector<float>& out) const {
        Pair beta{1.0, 1.0};
        for (std::size_t i = pass.size(); i-- > 0;) {
            const double steady = alpha_[i][0] * beta[0];
            const double outage = alpha_[i][1] * beta[1];
            const double p_out = outage / (steady + outage);
            out[i] = static_cast<float>(p_out);
            sums.steady += 1.0 - p_out;
            sums.steady_silent += pass[i] != 0 ? 1.0 - p_out : 0.0;
            if (i == 0)
                return;
            const Pair seen = emission(pass[i]);
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

// Prior counts: outages are rare (once in 1000 drops) and last some ten drops, unless the row says
// otherwise.
void update(SilenceModel& model, const Sums& sums, double passes) {
    model.background =
        std::clamp((sums.steady_silent + 0.5) / (sums.steady + 1.0), 1e-6, highest_background);
    model.enter = std::clamp((sums.steady_left + 0.5) / (sums.steady_steps + 500.0), 1e-7, 0.2);
    model.leave = std::clamp((sums.out_left + 1.0) / (sums.out_steps + 10.0), 1e-6,
                             1.0 / SilenceModel::shortest_mean_outage);
    model.begin_out = std::clamp((sums.began_out + 0.05) / (passes + 1.0), 1e-4, 0.99);
}

double log_likelihood_of_independent(double silent, double drops) {
    if (silent <= 0.0 || silent >= drops)
        return 0.0;
    return silent * std::log(silent / drops) + (drops - silent) * std::log1p(-silent / drops);
}

struct Counts {
    double drops = 0.0;
    double silent = 0.0;
    double runs = 0.0; // of silent drops
};

Counts counts_of(const std::vector<Silence>& passes) {
    Counts counts;
    for (const Silence& pass : passes)
        for (std::size_t i = 0; i < pass.size(); ++i) {
            counts.drops += 1.0;
            counts.silent += pass[i] != 0 ? 1.0 : 0.0;
            counts.runs += pass[i] != 0 && (i == 0 || pass[i - 1] == 0) ? 1.0 : 0.0;
        }
    return counts;
}

SilenceFit with_outages(const std::vector<Silence>& passes, double first_background) {
    SilenceFit fit;
    fit.model.background = std::clamp(first_background, 1e-6, highest_background);
    fit.out.resize(passes.size());
    double before = -1e300;
    for (int round = 0; round < most_rounds; ++round) {
        Sums sums;
        Recursion recursion(fit.model);
        for (std::size_t p = 0; p < passes.size(); ++p)
            recursion.run(passes[p], sums, fit.out[p]);
        fit.model.gain = sums.log_likelihood;
        if (sums.log_likelihood - before < 0.02)
            break;
        before = sums.log_likelihood;
        update(fit.model, sums, static_cast<double>(passes.size()));
    }
    return fit;
}

} // namespace

SilenceFit fit_silence(const std::vector<Silence>& passes) {
    const Counts counts = counts_of(passes);
    SilenceFit independent;
    if (counts.drops == 0.0)
        return independent;
    independent.model.background = counts.silent / counts.drops;
    if (counts.silent < 2.0)
        return independent;
    // Every run begins behind a drop that was seen: their number over those is untouched by how
    // long they last.
    const double seen = counts.drops - counts.silent;
    SilenceFit fit = with_outages(passes, counts.runs / (seen + counts.runs));
    fit.model.gain -= log_likelihood_of_independent(counts.silent, counts.drops);
    fit.model.outages = fit.model.gain > SilenceModel::needed_gain || counts.silent == counts.drops;
    if (fit.model.outages)
        return fit;
    independent.model.gain = fit.model.gain;
    return independent;
}

} // namespace dropledger::field
