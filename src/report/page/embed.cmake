# A text file as a constant array of C: -DNAME=array -DSOURCE=file -DOUT=file.c
file(READ ${SOURCE} bytes HEX)
string(REGEX REPLACE "(................................)" "\\1\n" bytes "${bytes}")
string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${bytes}")
file(WRITE ${OUT} "#include \"report/page/html.h\"\n\nconst char ${NAME}[] = {\n${bytes}0};\n")
