#include "password.h"

#include <termios.h>
#include <unistd.h>

#include <cstdio>
#include <iostream>

namespace anfract::cli {

std::string hidden_line(const char* prompt) {
    const bool terminal = ::isatty(STDIN_FILENO) == 1;
    termios before{};
    if (terminal) {
        std::fprintf(stderr, "%s: ", prompt);
        ::tcgetattr(STDIN_FILENO, &before);
        termios silent = before;
        silent.c_lflag &= ~static_cast<tcflag_t>(ECHO);
        ::tcsetattr(STDIN_FILENO, TCSAFLUSH, &silent);
    }
    std::string line;
    std::getline(std::cin, line);
    if (terminal) {
        ::tcsetattr(STDIN_FILENO, TCSAFLUSH, &before);
        std::fprintf(stderr, "\n");
    }
    return line;
}

Result<std::string> new_password(const char* prompt) {
    std::string password = hidden_line(prompt);
    if (::isatty(STDIN_FILENO) == 1 && hidden_line("the same again") != password)
        return fail(ErrorCode::BadInput, "the two are not the same", prompt, "try again");
    return password;
}

}  // namespace anfract::cli
