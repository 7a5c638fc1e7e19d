DROP TABLE methods;
DROP TABLE places;
DROP TABLE instruments;
DROP TABLE customers;
