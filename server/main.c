#include "app/app.h"

#include <unistd.h>

int main(int count, char **arguments) {
    return hfd_app_run(count, arguments, environ);
}
