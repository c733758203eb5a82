#include "analysis/statistics/estimate.hpp"
