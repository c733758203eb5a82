// The page on which gates are calibrated: by two of them in a run, by a hand count, or both.
//
// Assumes: the folder holds the logs; records are written into it, and into the book where there is one.
// Everything is done by `calibrate efficiency` (program.hpp). A record that is there is never written over.
#pragma once

#include "bench/station/mechanic/place.hpp"
#include "bench/station/pages/jobs.hpp"
#include "bench/station/server/routes.hpp"

#include <functional>
#include <string>
#include <vector>

namespace dropledger::station {

class Calibrations {
public:
    // `bar`: of a run that is on. `jobs` outlives this.
    Calibrations(Place place, Jobs& jobs, std::function<std::string()> bar)
        : place_(std::move(place)), jobs_(jobs), bar_(std::move(bar)) {}

    [[nodiscard]] std::vector<Route> routes();

private:
    [[nodiscard]] Response first_page(const std::string& trouble = {},
                                      const Fields& said = {}) const;
    [[nodiscard]] Response calibrate(const Request& request);
    // The command's words, but for where the record goes.
    [[nodiscard]] Result<std::vector<std::string>> words_of(const Fields& form) const;
    [[nodiscard]] Response found(const Fields& form, const std::vector<std::string>& words,
                                 const std::shared_ptr<Progress>& progress) const;
    [[nodiscard]] Response shown(const std::string& title, const std::string& body) const;

    Place place_;
    Jobs& jobs_;
    std::function<std::string()> bar_;
};

} // namespace dropledger::station
