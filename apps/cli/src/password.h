#pragma once

#include <string>

#include "anfract/base/result.h"

namespace anfract::cli {

/// A line from the terminal that is not shown while it is typed, or from what is piped in.
std::string hidden_line(const char* prompt);

/// Shows again what is typed, if a hidden_line on another thread hides it. For a program that ends
/// early.
void show_typing();

/// One that is to be kept: asked for twice at a terminal. Errors: BadInput when the two differ.
Result<std::string> new_password(const char* prompt = "password");

}  // namespace anfract::cli
