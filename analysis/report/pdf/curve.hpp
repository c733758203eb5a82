// A sampling plan's operating characteristic, drawn small.
//
// Undefined when: the plan's numbers make no plan for the batch: nothing is drawn.
#pragma once

#include "analysis/batch/certificate/certificate.hpp"
#include "analysis/report/pdf/paper.hpp"

namespace dropledger::report::certificate {

struct CurvePlace {
    Spot corner; // upper left of the whole drawing
    double width = 190.0;
    double height = 130.0;
};

// True where it was drawn. Rings: the points that are signed.
bool draw_curve(Paper& paper, const batch::Certificate& certificate, const CurvePlace& place);

} // namespace dropledger::report::certificate
