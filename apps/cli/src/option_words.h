#pragma once

#include "anfract/base/result.h"

namespace anfract::cli {

/// A library asks for a thing, and does not know that a command line gives it; this adds the option
/// that does.
Error with_option_named(Error error);

}  // namespace anfract::cli
